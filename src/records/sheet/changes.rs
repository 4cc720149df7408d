//! What is new, changed and gone in a sheet since it was last looked at.

use std::collections::BTreeMap;

/// Rows new, changed and gone since they were last looked at, each by its key.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Changes {
    pub new: Vec<String>,
    pub changed: Vec<String>,
    pub gone: Vec<String>,
}

/// Compares the rows of the mapping file with those of today.
pub(crate) fn changes(before: &BTreeMap<String, String>, now: &BTreeMap<String, String>) -> Changes {
    let mut changes = Changes::default();
    for (key, digest) in now {
        match before.get(key) {
            None => changes.new.push(key.clone()),
            Some(held) if held != digest => changes.changed.push(key.clone()),
            Some(_) => {}
        }
    }
    changes.gone = before.keys().filter(|key| !now.contains_key(*key)).cloned().collect();
    changes
}
