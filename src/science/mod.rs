//! Method and source records shared by doc comments, `explain` and the appendix of the report.
//!
//! Each equation that the physics rooms compute has one [`Method`] record here, in the file named after its room.
//! A function's result carries its record ([`Ranged`]), so what the report prints and what was computed cannot
//! drift apart. [`all`] is the list that the appendix prints. [`numerics`] holds mathematics that
//! several rooms share.

pub mod hydraulics;
pub mod hydrology;
pub mod numerics;
pub mod particles;
pub mod ponds;
mod ranged;
#[cfg(test)]
mod ranges;
mod record;
pub mod water;

pub use ranged::Ranged;
pub use record::{Method, Standing, Symbol};

/// Every method record, room by room, in the order in which the report's appendix prints them.
pub fn all() -> Vec<&'static Method> {
    [
        crate::science::water::records::ALL,
        crate::science::particles::records::ALL,
        crate::science::hydrology::records::ALL,
        crate::science::hydrology::evaporation_records::ALL,
        crate::science::hydraulics::records::ALL,
        crate::science::ponds::records::ALL,
        crate::science::numerics::statistics::ALL,
        crate::science::numerics::economy::ALL,
    ]
    .concat()
}

/// The record with this id, if there is one.
pub fn find(id: &str) -> Option<&'static Method> {
    all().into_iter().find(|method| method.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn two_methods_with_one_id_would_make_explain_answer_with_the_wrong_one() {
        let mut seen = BTreeSet::new();
        for method in all() {
            assert!(seen.insert(method.id), "`{}` stands twice", method.id);
            assert_eq!(find(method.id), Some(method));
        }
        assert!(seen.len() > 40);
    }

    #[test]
    fn an_empty_field_would_leave_a_hole_in_the_appendix() {
        for method in all() {
            for (field, text) in [
                ("id", method.id),
                ("name", method.name),
                ("equation", method.equation),
                ("valid range", method.valid_range),
                ("outside", method.outside),
                ("source", method.source),
            ] {
                assert!(!text.trim().is_empty(), "`{}`: {field} is empty", method.id);
            }
            assert!(!method.symbols.is_empty(), "`{}` names no symbol", method.id);
            for (symbol, meaning, unit) in method.symbols {
                assert!(!symbol.is_empty() && !meaning.is_empty() && !unit.is_empty());
            }
            assert!(
                method.id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'),
                "`{}` is not in small letters and hyphens",
                method.id
            );
        }
    }
}
