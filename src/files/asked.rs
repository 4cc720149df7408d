//! Which declared keys a reader has asked for: a key that is declared and never read would be let in by the schema
//! and refused by the program.

use std::collections::BTreeSet;
use std::sync::Mutex;

use super::declared::Declares;
use super::schema::Defs;

static ASKED: Mutex<BTreeSet<(&str, &str)>> = Mutex::new(BTreeSet::new());

/// Notes that a key of a map was asked for.
pub(super) fn note(map: &'static str, word: &'static str) {
    if let Ok(mut asked) = ASKED.lock() {
        asked.insert((map, word));
    }
}

/// The keys of the maps of `M` that nothing asked for in this process, but those of maps that `skip` names.
pub(crate) fn never_asked<M: Declares>(skip: impl Fn(&str) -> bool) -> Vec<String> {
    let mut defs = Defs::default();
    defs.map(M::MAP);
    let asked = ASKED.lock().map(|asked| asked.clone()).unwrap_or_default();
    let mut out = Vec::new();
    for map in defs.maps().iter().filter(|map| !skip(map.name)) {
        let keys = map.all().into_iter().filter(|key| !asked.contains(&(map.name, key.word())));
        out.extend(keys.map(|key| format!("{} / {}", map.name, key.word())));
    }
    out
}
