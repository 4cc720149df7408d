//! What is not beaten: of several figures of each, less being better, none other is as good in all and better in one.

/// Whether the first is as good in everything and better in something.
fn beats(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b) && a.iter().zip(b).any(|(a, b)| a < b)
}

/// For each, by which of those not beaten it is beaten: the first of them in order of its figures; none where it is not beaten.
/// Equal ones are kept all. Every figure is a number, and all have as many.
pub(super) fn beaten_by(figures: &[Vec<f64>]) -> Vec<Option<usize>> {
    let mut order: Vec<usize> = (0..figures.len()).collect();
    let of = |at: usize| figures.get(at).map_or(&[][..], Vec::as_slice);
    order.sort_by(|a, b| {
        let apart = of(*a).iter().zip(of(*b)).map(|(a, b)| a.total_cmp(b)).find(|order| order.is_ne());
        apart.unwrap_or_else(|| a.cmp(b))
    });
    // Whatever beats one stands before it in this order, and what is beaten itself beats nothing that its own better does not.
    let mut out = vec![None; figures.len()];
    let mut unbeaten: Vec<usize> = Vec::new();
    for at in order {
        let by = unbeaten.iter().copied().find(|other| beats(of(*other), of(at)));
        if by.is_none() {
            unbeaten.push(at);
        }
        if let Some(slot) = out.get_mut(at) {
            *slot = by;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// By the definition: each held against every other.
        #[test]
        fn what_is_not_beaten_is_so_by_the_definition(
            figures in prop::collection::vec(prop::collection::vec((-3_i32..4).prop_map(f64::from), 4), 0..40),
        ) {
            let found = beaten_by(&figures);
            for (at, of) in figures.iter().enumerate() {
                let is_beaten = figures.iter().any(|other| {
                    let no_worse = (0..4).filter(|i| other[*i] <= of[*i]).count() == 4;
                    let better = (0..4).filter(|i| other[*i] < of[*i]).count() > 0;
                    no_worse && better
                });
                prop_assert_eq!(found[at].is_some(), is_beaten, "{:?}", of);
                if let Some(by) = found[at] {
                    prop_assert!(found[by].is_none() && beats(&figures[by], of));
                }
            }
        }

        /// One more to choose from: the least of each figure never rises, and what was beaten stays so.
        #[test]
        fn one_more_never_makes_the_best_worse(
            figures in prop::collection::vec(prop::collection::vec(-9.0_f64..9.0, 3), 2..30),
        ) {
            let (fewer, all) = (beaten_by(&figures[1..]), beaten_by(&figures));
            let least = |found: &[Option<usize>], of: &[Vec<f64>], i: usize| {
                found.iter().zip(of).filter(|(by, _)| by.is_none()).map(|(_, of)| of[i]).fold(f64::INFINITY, f64::min)
            };
            for i in 0..3 {
                prop_assert!(least(&all, &figures, i) <= least(&fewer, &figures[1..], i));
            }
            for (at, by) in fewer.iter().enumerate() {
                prop_assert!(by.is_none() || all[at + 1].is_some());
            }
        }
    }

    #[test]
    fn equal_ones_are_kept_both() {
        assert_eq!(beaten_by(&[vec![1.0, 2.0], vec![1.0, 2.0], vec![1.0, 3.0]]), [None, None, Some(0)]);
    }
}
