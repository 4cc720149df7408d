//! A proposal: a patch on the facility file. It names places to change, replace, add or remove, and what is paid once.
//!
//! The patch works on the file's tree before it is read, so a changed facility is checked like any other, and a line
//! of the proposal keeps its own place for messages.

use super::keys::{Both, Proposal as Keys, Replacement};
use crate::files::schema::document;
use crate::files::yaml::{Entry, Node, What};
use crate::files::{Fields, Said};
use crate::told::{Place, Problem, Problems};

use super::paid::{self, PaidOnce, Regular};
use super::prices::{self, Labour, Price, Spent, labour_of};
use super::pumps::{self, Pump};

/// Sections of the facility file whose entries are places or meters with names of their own.
pub(super) const SECTIONS: [&str; 10] = [
    "supplies",
    "rain falls on",
    "uses",
    "transfers",
    "filters",
    "tanks",
    "ponds",
    "discharge points",
    "meters",
    "solids",
];

/// The facility file's rows of names for its picture.
const PICTURE: &str = "picture";

/// A proposal as read.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// Its name.
    pub name: String,
    /// The file it was read from.
    pub file: String,
    /// Whether it is the site as it stands, at its best.
    pub tuned: bool,
    /// Places whose lines change: name, and the new lines.
    pub change: Vec<(Said<String>, Node)>,
    /// Places that are replaced: old name, new name, and the new one's lines.
    pub replace: Vec<(Said<String>, Said<String>, Node)>,
    /// New places: section, name and lines.
    pub add: Vec<(String, Entry)>,
    /// Names that go.
    pub remove: Vec<Said<String>>,
    /// Of a train, the filters in whose place it is put.
    pub in_place_of: Vec<String>,
    /// What is bought once.
    pub pays_once: Vec<PaidOnce>,
    /// What is paid each month or year.
    pub pays_regularly: Vec<Regular>,
    /// What a change of a new filter uses, by its name.
    pub used_up: Vec<(String, Price)>,
    /// What its spent pieces weigh.
    pub spent: Vec<(String, Spent)>,
    /// Labour minutes of new filters.
    pub labour: Vec<Labour>,
    /// Pumps of new places.
    pub pumps: Vec<Pump>,
}

/// The JSON Schema of a proposal.
pub fn schema() -> serde_json::Value {
    document::<Keys>("A proposal: what changes at the site")
}

/// Reads a proposal from its tree; what is wrong is told.
pub fn read(tree: &Node, problems: &Problems) -> Option<Proposal> {
    let mut file = Fields::of::<Keys>(tree, problems)?;
    let name = file.read(&Keys::NAME);
    let tuned = file.read(&Keys::TUNED).is_some_and(|said| said.value);
    let change = file
        .get(&Keys::CHANGE)
        .named()
        .into_iter()
        .filter_map(|(name, field)| Some((name, field.node()?.clone())))
        .collect();
    let mut replace = Vec::new();
    for (old, field) in file.get(&Keys::REPLACE).named() {
        let Some(mut fields) = field.map::<Replacement>() else {
            continue;
        };
        let by = fields.read(&Replacement::BY);
        let (Some(by), Some(node)) = (by, field.node()) else {
            continue;
        };
        replace.push((old, by, without(node, Replacement::BY.word)));
    }
    let mut add = Vec::new();
    for (section, field) in file.get(&Keys::ADD).named() {
        if !SECTIONS.contains(&section.value.as_str()) {
            problems.add(
                Problem::error(&section.place, format!("`{}` is no section of a facility file", section.value))
                    .hint(format!("one of: {}", SECTIONS.join(", "))),
            );
            continue;
        }
        if field.fields().is_some()
            && let Some(What::Map(entries)) = field.node().map(|node| &node.what)
        {
            add.extend(entries.iter().map(|entry| (section.value.clone(), entry.clone())));
        }
    }
    let remove = file.get(&Keys::REMOVE).one_or_more().iter().filter_map(|field| field.name()).collect();
    let pays_once = paid::once(&file.get(&Keys::PAYS_ONCE));
    let pays_regularly = paid::regularly(&file.get(&Both::REGULARLY));
    let (used_up, spent) = prices::used_up(&file.get(&Both::USED_UP));
    let labour = [Both::LABOUR, Both::LABOR]
        .map(|key| file.get(&key))
        .iter()
        .flat_map(|field| field.named())
        .filter_map(|(name, field)| labour_of(name, &field))
        .collect();
    let pumps = pumps::read(&file.get(&Both::PUMPS));
    file.finish();
    Some(Proposal {
        name: name?.value,
        file: tree.place.file.to_string(),
        tuned,
        change,
        replace,
        add,
        remove,
        in_place_of: Vec::new(),
        pays_once,
        pays_regularly,
        used_up,
        spent,
        labour,
        pumps,
    })
}

fn without(node: &Node, key: &str) -> Node {
    let what = match &node.what {
        What::Map(entries) => What::Map(entries.iter().filter(|e| e.key != key).cloned().collect()),
        other => other.clone(),
    };
    Node { what, place: node.place.clone() }
}

/// Names as they stand in the patched facility, with the name each has in the facility as it stands: draws of a value
/// are shared between a place and what replaces it.
pub type Renamed = Vec<(String, String)>;

/// The facility's tree with the proposal applied, and the names it renamed. What the proposal names and the facility
/// has not is told.
pub fn apply(facility: &Node, proposal: &Proposal, problems: &Problems) -> (Node, Renamed) {
    let mut tree = facility.clone();
    let mut renamed = Renamed::new();
    for (name, lines) in &proposal.change {
        match find(&mut tree, &name.value) {
            Some(entry) => change(entry, lines),
            None => unknown(facility, name, problems),
        }
    }
    for (old, by, lines) in &proposal.replace {
        match find(&mut tree, &old.value) {
            Some(entry) => {
                entry.key.clone_from(&by.value);
                entry.key_place = by.place.clone();
                entry.value = lines.clone();
                rename(&mut tree, &old.value, &by.value);
                renamed.push((by.value.clone(), old.value.clone()));
            }
            None => unknown(facility, old, problems),
        }
    }
    for name in &proposal.remove {
        if !remove(&mut tree, &name.value) {
            unknown(facility, name, problems);
        }
    }
    for (section, entry) in &proposal.add {
        add(&mut tree, section, entry);
    }
    (tree, renamed)
}

fn unknown(facility: &Node, name: &Said<String>, problems: &Problems) {
    let names: Vec<String> = names(facility);
    let near = crate::quantity::nearest(&name.value, names.iter().map(String::as_str));
    problems.add(
        Problem::error(&name.place, format!("the facility has no `{}`", name.value))
            .maybe_hint(near.map(|near| format!("did you mean `{near}`?"))),
    );
}

/// Every name that a proposal may speak of.
fn names(tree: &Node) -> Vec<String> {
    let What::Map(top) = &tree.what else {
        return Vec::new();
    };
    top.iter()
        .filter(|entry| SECTIONS.contains(&entry.key.as_str()))
        .filter_map(|entry| match &entry.value.what {
            What::Map(entries) => Some(entries),
            _ => None,
        })
        .flatten()
        .map(|entry| entry.key.clone())
        .collect()
}

fn find<'a>(tree: &'a mut Node, name: &str) -> Option<&'a mut Entry> {
    let What::Map(top) = &mut tree.what else {
        return None;
    };
    top.iter_mut()
        .filter(|entry| SECTIONS.contains(&entry.key.as_str()))
        .filter_map(|entry| match &mut entry.value.what {
            What::Map(entries) => Some(entries),
            _ => None,
        })
        .flatten()
        .find(|entry| entry.key == name)
}

/// Each line replaces the old line whole; a line that was not there is added.
fn change(entry: &mut Entry, lines: &Node) {
    let What::Map(new) = &lines.what else {
        entry.value = lines.clone();
        return;
    };
    if let What::Map(old) = &mut entry.value.what {
        for line in new {
            match old.iter_mut().find(|known| known.key == line.key) {
                Some(known) => *known = line.clone(),
                None => old.push(line.clone()),
            }
        }
    } else {
        entry.value = lines.clone();
    }
}

/// Renames every mention of a place below the sections: plain values and the keys of maps that share a flow out.
fn rename(tree: &mut Node, old: &str, new: &str) {
    let What::Map(top) = &mut tree.what else {
        return;
    };
    for section in top.iter_mut().filter(|entry| SECTIONS.contains(&entry.key.as_str())) {
        if let What::Map(places) = &mut section.value.what {
            for place in places {
                mentions(&mut place.value, old, new);
            }
        }
    }
    for picture in top.iter_mut().filter(|entry| entry.key == PICTURE) {
        mentions(&mut picture.value, old, new);
    }
}

/// Renames every mention of a place in a node.
pub(super) fn mentions(node: &mut Node, old: &str, new: &str) {
    match &mut node.what {
        What::Text(text) if text.trim() == old => *text = new.to_owned(),
        What::Text(_) | What::Nothing => {}
        What::List(list) => list.iter_mut().for_each(|node| mentions(node, old, new)),
        What::Map(entries) => {
            for entry in entries {
                if entry.key == old {
                    entry.key = new.to_owned();
                }
                mentions(&mut entry.value, old, new);
            }
        }
    }
}

/// The meter of the facility's file that stands on a line.
pub fn meter_typed_at<'a>(facility: &'a Node, place: &Place) -> Option<&'a str> {
    let What::Map(top) = &facility.what else {
        return None;
    };
    let meters = top.iter().find(|entry| entry.key == "meters")?;
    let What::Map(meters) = &meters.value.what else {
        return None;
    };
    meters
        .iter()
        .find(|meter| meter.key_place.file == place.file && meter.key_place.line == place.line)
        .map(|meter| meter.key.as_str())
}

/// Tells whatever still names a place or meter that the proposal removes.
pub fn tell_orphans(tree: &Node, proposal: &Proposal, problems: &Problems) {
    let What::Map(top) = &tree.what else {
        return;
    };
    for section in top.iter().filter(|entry| SECTIONS.contains(&entry.key.as_str())) {
        let What::Map(places) = &section.value.what else {
            continue;
        };
        for place in places {
            for removed in &proposal.remove {
                orphans(&place.value, place, removed, problems);
            }
        }
    }
}

fn orphans(node: &Node, of: &Entry, removed: &Said<String>, problems: &Problems) {
    let tell = |place: &Place| {
        problems.add(
            Problem::error(place, format!("`{}` still names `{}`, which the proposal removes", of.key, removed.value))
                .hint(format!("change or remove `{}` in the proposal as well", of.key))
                .related(&removed.place, "removed here"),
        );
    };
    match &node.what {
        What::Text(text) if text.trim() == removed.value => tell(&node.place),
        What::Text(_) | What::Nothing => {}
        What::List(list) => {
            for node in list {
                orphans(node, of, removed, problems);
            }
        }
        What::Map(entries) => {
            for entry in entries.iter().filter(|entry| entry.key != "kind") {
                if entry.key == removed.value {
                    tell(&entry.key_place);
                }
                orphans(&entry.value, of, removed, problems);
            }
        }
    }
}

/// The tree with each place that replaces another under the other's name, so that values typed under the same keys are
/// drawn alike in both. None where the old name is taken again by a new place.
///
/// A trigger under `after` is that under `or after` of the site, and is drawn as it is.
pub fn as_named_before(tree: &Node, site: &Node, renamed: &Renamed) -> Option<Node> {
    let mut out = tree.clone();
    for (new, old) in renamed {
        if new == old {
            continue;
        }
        if find(&mut out, old).is_some() {
            return None;
        }
        find(&mut out, new)?.key.clone_from(old);
        rename(&mut out, new, old);
    }
    for name in names(site) {
        if let (Some(entry), Some(known)) = (find(&mut out, &name), find(&mut site.clone(), &name)) {
            triggers_as_before(&mut entry.value, &known.value);
        }
    }
    Some(out)
}

/// Sections of a filter that say when something is done, and what they say it by.
const CADENCES: [&str; 2] = ["washes", "changed"];
const TRIGGERS: [&str; 2] = ["after", "every"];

/// Writes `after` as `or after`, or the other way round, where the site's lines have the one and these the other.
fn triggers_as_before(lines: &mut Node, known: &Node) {
    let (What::Map(lines), What::Map(known)) = (&mut lines.what, &known.what) else { return };
    for entry in lines.iter_mut().filter(|entry| CADENCES.contains(&entry.key.as_str())) {
        let Some(was) = known.iter().find(|was| was.key == entry.key) else { continue };
        let (What::Map(now), What::Map(was)) = (&mut entry.value.what, &was.value.what) else { continue };
        for plain in TRIGGERS {
            let with_or = format!("or {plain}");
            for (ours, theirs) in [(plain, with_or.as_str()), (with_or.as_str(), plain)] {
                let has = |list: &[Entry], key: &str| list.iter().any(|entry| entry.key == key);
                let one_each = has(now, ours) && !has(now, theirs) && has(was, theirs) && !has(was, ours);
                if one_each && let Some(trigger) = now.iter_mut().find(|entry| entry.key == ours) {
                    theirs.clone_into(&mut trigger.key);
                }
            }
        }
    }
}

/// New names of places that are replaced by the same lines: nothing but the name changes.
pub fn only_renamed(facility: &Node, proposal: &Proposal) -> Vec<String> {
    let mut tree = facility.clone();
    proposal
        .replace
        .iter()
        .filter(|(old, _, lines)| find(&mut tree, &old.value).is_some_and(|entry| alike(&entry.value, lines)))
        .map(|(_, new, _)| new.value.clone())
        .collect()
}

/// Whether two nodes say the same, wherever they were typed; the keys of a map in any order.
fn alike(a: &Node, b: &Node) -> bool {
    match (&a.what, &b.what) {
        (What::Text(a), What::Text(b)) => a.trim() == b.trim(),
        (What::Nothing, What::Nothing) => true,
        (What::List(a), What::List(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b)),
        (What::Map(a), What::Map(b)) => {
            a.len() == b.len()
                && a.iter().all(|one| b.iter().any(|other| other.key == one.key && alike(&one.value, &other.value)))
        }
        _ => false,
    }
}

/// Whether a node names one of these, as a plain value or as a key.
pub fn names_one_of(node: &Node, gone: &[String]) -> bool {
    let is = |text: &str| gone.iter().any(|name| name == text.trim());
    match &node.what {
        What::Text(text) => is(text),
        What::Nothing => false,
        What::List(list) => list.iter().any(|node| names_one_of(node, gone)),
        // `Storage pond below: 7 ft` names the pond.
        What::Map(entries) => entries.iter().any(|entry| {
            is(&entry.key) || entry.key.strip_suffix(" below").is_some_and(is) || names_one_of(&entry.value, gone)
        }),
    }
}

fn remove(tree: &mut Node, name: &str) -> bool {
    let What::Map(top) = &mut tree.what else {
        return false;
    };
    let mut found = false;
    for section in top.iter_mut().filter(|entry| SECTIONS.contains(&entry.key.as_str())) {
        if let What::Map(entries) = &mut section.value.what {
            let before = entries.len();
            entries.retain(|entry| entry.key != name);
            found |= entries.len() < before;
        }
    }
    // What is taken out leaves its place on the picture empty.
    for picture in top.iter_mut().filter(|entry| entry.key == PICTURE) {
        if let What::List(rows) = &mut picture.value.what {
            for row in rows {
                if let What::List(names) = &mut row.what {
                    names.retain(|node| !matches!(&node.what, What::Text(text) if text.trim() == name));
                }
            }
        }
    }
    found
}

fn add(tree: &mut Node, section: &str, entry: &Entry) {
    let place: Place = entry.key_place.clone();
    let What::Map(top) = &mut tree.what else {
        return;
    };
    if let Some(known) = top.iter_mut().find(|known| known.key == section)
        && let What::Map(entries) = &mut known.value.what
    {
        entries.push(entry.clone());
        return;
    }
    top.push(Entry {
        key: section.to_owned(),
        key_place: place.clone(),
        value: Node { what: What::Map(vec![entry.clone()]), place },
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{Source, yaml};

    fn tree(text: &str) -> Node {
        let problems = Problems::new();
        let tree = yaml::tree(&Source::new("t.yaml", text), &problems).unwrap();
        assert!(problems.is_empty());
        tree
    }

    fn text_at<'a>(tree: &'a Node, path: &[&str]) -> Option<&'a str> {
        let mut node = tree;
        for key in path {
            let What::Map(entries) = &node.what else {
                return None;
            };
            node = &entries.iter().find(|entry| entry.key == *key)?.value;
        }
        match &node.what {
            What::Text(text) => Some(text),
            _ => None,
        }
    }

    const SITE: &str = "filters:\n  Sand beds:\n    takes from: Pond\n    rate: 1 gpm\ntanks:\n  Tank:\n    filled from: {from: Sand beds, up to: 3 gal}\nuses:\n  Drip:\n    goes to: {Sand beds: 20 %, Pond: the rest}\n";

    #[test]
    fn a_replaced_place_takes_over_every_way_to_and_from_the_old_one() {
        let problems = Problems::new();
        let proposal =
            read(&tree("name: Bags\nreplace:\n  Sand beds:\n    by: Pond bags\n    takes from: Pond\n"), &problems)
                .unwrap();
        let (patched, renamed) = apply(&tree(SITE), &proposal, &problems);
        assert!(problems.is_empty(), "{:?}", problems.in_order());
        assert_eq!(text_at(&patched, &["filters", "Pond bags", "takes from"]), Some("Pond"));
        assert_eq!(text_at(&patched, &["tanks", "Tank", "filled from", "from"]), Some("Pond bags"));
        assert_eq!(text_at(&patched, &["uses", "Drip", "goes to", "Pond bags"]), Some("20 %"));
        assert_eq!(text_at(&patched, &["filters", "Pond bags", "rate"]), None);
        assert_eq!(renamed, vec![("Pond bags".to_owned(), "Sand beds".to_owned())]);
    }

    #[test]
    fn a_changed_line_replaces_the_old_line_and_leaves_the_others() {
        let problems = Problems::new();
        let proposal =
            read(&tree("name: Tuned\ntuned: yes\nchange:\n  Sand beds:\n    rate: 2 gpm\nremove: [Tank]\n"), &problems)
                .unwrap();
        assert!(proposal.tuned);
        let (patched, _) = apply(&tree(SITE), &proposal, &problems);
        assert!(problems.is_empty());
        assert_eq!(text_at(&patched, &["filters", "Sand beds", "rate"]), Some("2 gpm"));
        assert_eq!(text_at(&patched, &["filters", "Sand beds", "takes from"]), Some("Pond"));
        assert_eq!(text_at(&patched, &["tanks", "Tank", "filled from"]), None);
    }

    #[test]
    fn the_rows_of_the_picture_follow_what_is_replaced_and_removed() {
        let problems = Problems::new();
        let said = "name: Bags\nreplace:\n  Sand beds:\n    by: Pond bags\n    takes from: Pond\nremove: [Tank]\n";
        let proposal = read(&tree(said), &problems).unwrap();
        let site = format!("{SITE}picture: [[Pond, Sand beds], [Tank, Drip]]\n");
        let (patched, _) = apply(&tree(&site), &proposal, &problems);
        let What::Map(top) = &patched.what else { panic!("a map") };
        let What::List(rows) = &top.iter().find(|entry| entry.key == PICTURE).unwrap().value.what else {
            panic!("rows")
        };
        let names = |row: &Node| match &row.what {
            What::List(names) => names.iter().map(|name| name.what.clone()).collect::<Vec<_>>(),
            _ => Vec::new(),
        };
        let text = |name: &str| What::Text(name.to_owned());
        assert_eq!(names(&rows[0]), [text("Pond"), text("Pond bags")]);
        assert_eq!(names(&rows[1]), [text("Drip")]);
    }

    #[test]
    fn a_name_the_facility_has_not_is_told_with_the_near_one() {
        let problems = Problems::new();
        let proposal = read(&tree("name: X\nremove: [Sand bed]\n"), &problems).unwrap();
        apply(&tree(SITE), &proposal, &problems);
        let told = problems.in_order();
        assert_eq!(told.len(), 1);
        assert!(told[0].hint.as_deref().unwrap().contains("Sand beds"));
    }
}
