//! Which trains there are: units one after another, coarse before fine, each finer than the one before by what is asked.

use crate::compare::search::Unit;

/// Rounding of sizes that are typed in different units.
const SAME: f64 = 1e-9;

/// Units in the order in which trains are built, whatever the order in the file: coarse first, then by name.
pub(super) fn in_order(units: &[Unit]) -> Vec<Unit> {
    let mut units = units.to_vec();
    units.sort_by(|a, b| b.size_m.total_cmp(&a.size_m).then_with(|| a.name.cmp(&b.name)));
    units
}

/// Whether one size may stand behind another: finer, and by so many times at least.
pub(super) fn may_follow(before_m: f64, size_m: f64, finer: f64) -> bool {
    size_m < before_m * (1.0 - SAME) && before_m >= finer * size_m * (1.0 - SAME)
}

/// Every train of at most so many of the units, in order as [`in_order`] gives them: the shortest first. Each is a list of indices,
/// source first.
pub(super) fn chains(units: &[Unit], most: usize, finer: f64) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = Vec::new();
    let mut longest: Vec<Vec<usize>> = (0..units.len()).map(|at| vec![at]).collect();
    for _ in 0..most {
        let mut longer = Vec::new();
        for chain in &longest {
            let Some(last) = chain.last().and_then(|at| units.get(*at)) else { continue };
            for (at, unit) in units.iter().enumerate() {
                if may_follow(last.size_m, unit.size_m, finer) {
                    longer.push(chain.iter().copied().chain([at]).collect());
                }
            }
        }
        all.append(&mut longest);
        longest = longer;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::search::stages::tests::unit;
    use proptest::prelude::*;

    proptest! {
        /// Counted anew: every choice of up to three units in every order, kept where each is finer than the one before.
        #[test]
        fn every_train_is_built_once_and_no_other(sizes in prop::collection::vec(1_u32..40, 0..9), most in 1_usize..4, finer in 1_u32..4) {
            let units: Vec<Unit> = in_order(
                &sizes.iter().enumerate().map(|(at, um)| unit(&format!("{at}"), f64::from(*um) * 1e-6)).collect::<Vec<_>>(),
            );
            prop_assert_eq!(units.len(), sizes.len());
            prop_assert!(units.windows(2).all(|pair| pair[0].size_m >= pair[1].size_m));
            let um = |at: usize| (units[at].size_m * 1e6).round() as u32;
            let fits = |a: usize, b: usize| um(b) < um(a) && um(a) >= finer * um(b);
            let mut expected = 0;
            for a in 0..units.len() {
                expected += 1;
                for b in 0..units.len() {
                    if most >= 2 && fits(a, b) {
                        expected += 1;
                        expected += (0..units.len()).filter(|c| most >= 3 && fits(b, *c)).count();
                    }
                }
            }
            let built = chains(&units, most, f64::from(finer));
            prop_assert_eq!(built.len(), expected);
            let mut once = built.clone();
            once.sort();
            once.dedup();
            prop_assert_eq!(once.len(), built.len());
            for chain in &built {
                prop_assert!(chain.len() <= most && chain.windows(2).all(|pair| fits(pair[0], pair[1])));
            }
        }

        #[test]
        fn the_order_of_the_file_changes_nothing(sizes in prop::collection::vec(1_u32..40, 1..8), turn in 0_usize..8) {
            let all: Vec<Unit> =
                sizes.iter().enumerate().map(|(at, um)| unit(&format!("{at}"), f64::from(*um) * 1e-6)).collect();
            let mut turned = all.clone();
            turned.rotate_left(turn % all.len());
            let names = |units: Vec<Unit>| -> Vec<Vec<String>> {
                chains(&units, 3, 1.0)
                    .into_iter()
                    .map(|chain| chain.into_iter().map(|at| units[at].name.clone()).collect())
                    .collect()
            };
            prop_assert_eq!(names(in_order(&all)), names(in_order(&turned)));
        }
    }
}
