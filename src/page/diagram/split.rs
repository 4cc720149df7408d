//! A picture with more places than a sheet can show, in several sheets that name one another.

use std::collections::BTreeMap;

use crate::page::document::{Diagram, OutsideName, Side, Way};

/// The most places of a sheet.
pub const MOST: usize = 25;
/// The most places of a sheet when there are several, and how many of them are tried where names make places so tall that
/// fewer fit.
pub const OF_SEVERAL: &[usize] = &[16, 12, 9, 6, 4];
/// The most names at a side of a sheet.
const MOST_NAMES: usize = 16;
/// The most rows of a sheet that the user has laid out.
const MOST_ROWS: usize = 7;

/// The sheets of a picture, each with its title where there is more than one. Ways that go on elsewhere end at a name
/// that says on which sheet.
pub fn parts(diagram: &Diagram, groups: &[Vec<usize>]) -> Vec<(Option<String>, Diagram)> {
    if groups.len() <= 1 {
        return vec![(None, with_few_names(diagram.clone()))];
    }
    let mut sheet_of: BTreeMap<&str, usize> = BTreeMap::new();
    for (number, group) in groups.iter().enumerate() {
        for place in group {
            sheet_of.insert(&diagram.places[*place].id, number);
        }
    }
    (0..groups.len()).map(|number| part(diagram, &groups[number], number, groups.len(), &sheet_of)).collect()
}

fn part(
    diagram: &Diagram,
    group: &[usize],
    number: usize,
    count: usize,
    sheet_of: &BTreeMap<&str, usize>,
) -> (Option<String>, Diagram) {
    let mut part = Diagram {
        places: group.iter().map(|place| diagram.places[*place].clone()).collect(),
        unit: diagram.unit.clone(),
        ..Diagram::default()
    };
    let named = |id: &str| {
        let place = diagram.places.iter().find(|place| place.id == id);
        place.map_or(id, |place| place.name.as_str()).to_owned()
    };
    let here = |id: &str| sheet_of.get(id) == Some(&number);
    for way in &diagram.ways {
        let mut way: Way = way.clone();
        if !here(&way.from) && !here(&way.to) {
            continue;
        }
        for (end, word) in [(&mut way.from, "from"), (&mut way.to, "to")] {
            if let Some(other) = sheet_of.get(end.as_str()).filter(|other| **other != number) {
                let words = format!("{word} {}, sheet {}", named(end), other + 1);
                *end = words.clone();
                add(&mut part.outside, OutsideName::new(words, Side::Left));
            } else if let Some(name) = diagram.outside.iter().find(|name| name.id == *end) {
                add(&mut part.outside, name.clone());
            }
        }
        part.ways.push(way);
    }
    let known =
        |id: &String| part.places.iter().any(|place| place.id == *id) || part.outside.iter().any(|name| name.id == *id);
    part.rows = diagram.rows.iter().map(|row| row.iter().filter(|id| known(id)).cloned().collect()).collect();
    part.rows.retain(|row: &Vec<String>| !row.is_empty());
    let mut title = format!("Sheet {} of {count}", number + 1);
    if let (Some(first), Some(last)) = (part.places.first(), part.places.last()) {
        title.push_str(&format!(": {} to {}", first.name, last.name));
    }
    (Some(title), with_few_names(part))
}

/// The part with no more names on a side than there is room for: the last ones share one, with what they carry together.
fn with_few_names(mut part: Diagram) -> Diagram {
    for side in [Side::Left, Side::Right] {
        let ids: Vec<String> =
            part.outside.iter().filter(|name| name.side == side).map(|name| name.id.clone()).collect();
        if ids.len() <= MOST_NAMES {
            continue;
        }
        let shared = &ids[MOST_NAMES - 1..];
        let words = format!("{} more", shared.len());
        part.outside.retain(|name| !shared.contains(&name.id));
        part.outside.push(OutsideName::new(words.clone(), side));
        let mut ways: Vec<Way> = Vec::new();
        for mut way in part.ways {
            let end = if shared.contains(&way.from) { &mut way.from } else { &mut way.to };
            if !shared.contains(end) {
                ways.push(way);
                continue;
            }
            end.clone_from(&words);
            let same = |held: &&mut Way| held.from == way.from && held.to == way.to && held.carries == way.carries;
            match ways.iter_mut().find(same) {
                Some(held) => {
                    held.figure = None;
                    held.volume = match (held.volume, way.volume) {
                        (Some(a), Some(b)) => Some(a + b),
                        (a, b) => a.or(b),
                    };
                }
                None => ways.push(way),
            }
        }
        part.ways = ways;
    }
    part
}

fn add(names: &mut Vec<OutsideName>, name: OutsideName) {
    if !names.iter().any(|held| held.id == name.id) {
        names.push(name);
    }
}

/// Every place on one sheet; none where there are too many for that.
pub fn whole(diagram: &Diagram) -> Option<Vec<Vec<usize>>> {
    let count = diagram.places.len();
    (count <= MOST && diagram.rows.len() <= MOST_ROWS).then(|| vec![(0..count).collect()])
}

/// Which places go together on sheets of so many at the most: the user's rows in order, else those between which most ways go.
pub fn groups(diagram: &Diagram, most: usize) -> Vec<Vec<usize>> {
    let count = diagram.places.len();
    let number = |id: &String| diagram.places.iter().position(|place| place.id == *id);
    let rows: Vec<Vec<usize>> = diagram.rows.iter().map(|row| row.iter().filter_map(number).collect()).collect();
    if !rows.is_empty() {
        let widest = OF_SEVERAL.first().copied().unwrap_or(most).max(1);
        let mut groups: Vec<Vec<usize>> = rows.chunks((MOST_ROWS * most / widest).max(1)).map(<[_]>::concat).collect();
        let held: Vec<usize> = groups.concat();
        let left: Vec<usize> = (0..count).filter(|place| !held.contains(place)).collect();
        groups.extend(left.chunks(most).map(<[usize]>::to_vec));
        groups.retain(|group| !group.is_empty());
        return groups;
    }
    packed(gathered(diagram, number, most), most)
}

/// Groups without a way between them share a sheet where they fit, each with the first that has room for it.
fn packed(groups: Vec<Vec<usize>>, most: usize) -> Vec<Vec<usize>> {
    let mut sheets: Vec<Vec<usize>> = Vec::new();
    for group in groups {
        match sheets.iter_mut().find(|sheet| sheet.len() + group.len() <= most) {
            Some(sheet) => sheet.extend(group),
            None => sheets.push(group),
        }
    }
    for sheet in &mut sheets {
        sheet.sort_unstable();
    }
    sheets
}

/// Joins the two groups that most ways go between, for their size, until none that have any fit on a sheet together.
fn gathered(diagram: &Diagram, number: impl Fn(&String) -> Option<usize>, most: usize) -> Vec<Vec<usize>> {
    let count = diagram.places.len();
    let mut ties = vec![vec![0.0_f32; count]; count];
    for way in &diagram.ways {
        if let (Some(a), Some(b)) = (number(&way.from), number(&way.to)) {
            let tie = if way.volume.is_some() { 2.0 } else { 1.0 };
            ties[a][b] += tie;
            ties[b][a] += tie;
        }
    }
    let mut groups: Vec<Vec<usize>> = (0..count).map(|place| vec![place]).collect();
    loop {
        let mut best: Option<(f32, usize, usize)> = None;
        for (i, a) in groups.iter().enumerate() {
            for (j, b) in groups.iter().enumerate().skip(i + 1) {
                let size = a.len() + b.len();
                let tie: f32 = a.iter().flat_map(|p| b.iter().map(move |q| (p, q))).map(|(p, q)| ties[*p][*q]).sum();
                let worth = tie / size as f32;
                if size <= most && tie > 0.0 && best.is_none_or(|(held, ..)| worth > held) {
                    best = Some((worth, i, j));
                }
            }
        }
        let Some((_, i, j)) = best else { break };
        let other = groups.remove(j);
        groups[i].extend(other);
        groups[i].sort_unstable();
    }
    groups.sort();
    groups
}
