//! The room that a duty has to itself, over all that must lie under it.

use crate::report::basin::page::digits_apart;
use crate::report::basin::units::Units;
use crate::report::basin::{BasinCase, figure_to};
use crate::sizing::{Check, Comes, Duty, Held, LayerKind, Measure, Stack};

/// A duty's own room, m³, of what is stacked in a shape; none of a duty that asks for no room.
fn own_m3(duty: Duty, stack: &Stack) -> Option<f64> {
    match duty {
        Duty::CleanOut => Some(stack.lost_m3()),
        Duty::Pool => Some(stack.pool_top_m3 - stack.lost_m3()),
        Duty::Hold => Some(stack.wash_m3 + stack.reuse_m3),
        Duty::Storm => Some(stack.storm_m3),
        _ => None,
    }
}

/// A check of a room, which counts everything that lies under it, as one of that room alone.
pub(super) fn own(check: &Check, stack: &Stack) -> Check {
    let Some(own_m3) = own_m3(check.duty, stack).filter(|_| check.measure == Measure::Volume) else { return *check };
    let under_m3 = check.asked - own_m3;
    Check { asked: own_m3, has: check.has - under_m3, ..*check }
}

/// What there is, of a room: nothing where what must lie under it takes more than all.
pub(super) fn there_is(units: Units, check: &Check) -> String {
    if check.measure == Measure::Volume && check.has <= 0.0 {
        return "none".to_owned();
    }
    figure_to(units, check.measure, check.has, digits_apart(units, check))
}

/// From which level to which the room of a duty lies, m above the floor; none where it has none, or not all of it.
pub(super) fn lies_between_m(duty: Duty, held: &Held) -> Option<(f64, f64)> {
    let kinds: &[LayerKind] = match duty {
        Duty::CleanOut => &[LayerKind::Sludge, LayerKind::SludgeAndBerm],
        Duty::Pool => &[LayerKind::Pool],
        Duty::Hold => &[LayerKind::Wash, LayerKind::Reuse],
        Duty::Storm => &[LayerKind::Storm],
        _ => &[],
    };
    let layers: Vec<_> = held.layers.iter().filter(|layer| kinds.contains(&layer.kind)).collect();
    let (first, last) = (layers.first()?, layers.last()?);
    layers.iter().all(|layer| layer.fits).then_some((first.from_m, last.to_m))
}

/// That no room has another in it, and what is left between them.
pub(super) fn together(case: &BasinCase, held: &Held) -> String {
    let units = case.units();
    let layer = |kind: LayerKind| held.layers.iter().find(|layer| layer.kind == kind);
    let mut rooms = held.checks.iter().filter(|check| check.measure == Measure::Volume);
    let all_fit = rooms.all(|check| check.comes != Comes::NotDone);
    let left = layer(LayerKind::Stays).filter(|_| all_fit).map_or_else(String::new, |stays| {
        format!(
            "; {} ({} to {}) are left to use or to stay",
            units.m3(stays.volume_m3),
            units.m_bare(stays.from_m),
            units.m(stays.to_m),
        )
    });
    format!("Each room is its own{left}. ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// A stack of 20 + 310 + 160 + 660 m³ in a pond of 1 330 m³: the storm has 660 and not 1 150 of 1 330 m³, of which one
    /// would take the rest to be spare; short of 100 m³ it is short of as much.
    #[test]
    fn a_room_is_held_against_what_is_left_over_all_that_lies_under_it() {
        let stack = Stack {
            sludge_m3: 20.0,
            berm_m3: 0.0,
            sludge_top_m: 0.1,
            pool_top_m: 1.6,
            pool_top_m3: 330.0,
            wash_m3: 0.0,
            reuse_m3: 160.0,
            held_top_m3: 490.0,
            storm_m3: 660.0,
        };
        let check = |has: f64, comes| Check { duty: Duty::Storm, measure: Measure::Volume, asked: 1150.0, has, comes };
        let fits = own(&check(1330.0, Comes::Done), &stack);
        assert_relative_eq!(fits.asked, 660.0);
        assert_relative_eq!(fits.has, 840.0);
        let short = own(&check(1050.0, Comes::NotDone), &stack);
        assert_relative_eq!(short.has, 560.0);
        assert_relative_eq!(short.asked - short.has, 100.0);
        let pool = Check { duty: Duty::Pool, measure: Measure::Volume, asked: 330.0, has: 1330.0, comes: Comes::Done };
        assert_relative_eq!(own(&pool, &stack).asked, 310.0);
        let hours = Check { measure: Measure::Hours, ..check(3.0, Comes::Done) };
        assert_eq!(own(&hours, &stack), hours);
    }
}
