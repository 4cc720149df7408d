//! The keys of a facility against what its readers ask for.

use super::keys::*;
use crate::facility::read::{filter_keys, from_tree};
use crate::files::{Source, never_asked, yaml};
use crate::told::Problems;

/// A key that is declared and never read would be right to an editor and wrong to the program. Whether the values
/// below are right does not matter: each map is opened. Filters have a test of their own.
#[test]
fn every_declared_key_is_read() {
    let station = "weather: {rain: {}, temperatures: {}, pond evaporation: {from: weather station}, water temperature: {file: a.csv}}\n";
    let computed = "weather: {pond evaporation: {from: temperatures}}\n";
    let pan = "weather: {pond evaporation: {pan: a.csv}}\n";
    let site = "picture: [[S]]\nsolids: {A: {}}\ndissolved: {A: {}}\ncheck with records: {}\nmeters: {A: {exchanged: [{}]}, B: {weir: {coefficient: 1}}, C: {weir: {shape: rectangular}}}\nsupplies: {S: {when: {}}}\nrain falls on: {C: {}, D: {parts: {A: {}}, goes to: [{}]}}\nuses: {U: {goes to: {T: {}}}}\ntransfers: {R: {}}\ntanks: {T: {at the start: {}, filled from: {}, pumped out: {}, emptied by: {}}}\nponds: {P: {shape: {}, sludge: {}, at the start: {}, filled from: {}, pumped out: {}}, Q: {levels: [{}]}}\ndischarge points: {O: {weir: {shape: rectangular}}, V: {weir: {shape: broad crested}}}\n";
    let problems = Problems::new();
    for text in [format!("{station}{site}"), computed.to_owned(), pan.to_owned()] {
        let tree = yaml::tree(&Source::new("facility.yaml", &text), &problems).unwrap();
        from_tree(&tree, std::path::Path::new("."), &problems);
    }
    assert_eq!(never_asked::<File>(filter_keys::is_of_filters), Vec::<String>::new());
}
