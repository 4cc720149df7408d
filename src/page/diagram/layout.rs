//! Where places and names stand: layers left to right, folded into bands when the page is narrower than the train is long.

use std::collections::BTreeMap;

use crate::page::diagram::route;
use crate::page::diagram::route::Routed;
use crate::page::document::{Diagram, DiagramPlace, OutsideName, Side, Text, Way};
use crate::page::draw::{Area, Point, Type, at_most, wrap};

/// Width of a place.
pub const PLACE_WIDTH: f32 = 92.0;
/// Height of a place.
pub const PLACE_HEIGHT: f32 = 40.0;
/// Width kept for names of supplies at the left.
pub const LEFT_NAMES: f32 = 58.0;
/// Width kept for names beyond the facility line.
pub const RIGHT_NAMES: f32 = 66.0;
/// Least width of the channel outside the first and the last column.
pub const EDGE_CHANNEL: f32 = 24.0;
const MOST_PLACES: usize = 25;

/// A place where it stands.
#[derive(Debug, Clone)]
pub struct PlacedPlace {
    /// The place.
    pub place: DiagramPlace,
    /// Its rectangle, from the sheet's own corner.
    pub area: Area,
    pub(crate) row: usize,
    pub(crate) column: usize,
}

/// A name outside, where it stands.
#[derive(Debug, Clone)]
pub struct PlacedName {
    /// The name.
    pub name: OutsideName,
    /// Its lines.
    pub lines: Vec<String>,
    /// The middle of its side towards the facility.
    pub at: Point,
    pub(crate) row: usize,
}

/// A sheet of the diagram, ready to draw.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// What it shows, where there is more than one.
    pub title: Option<String>,
    /// Its width.
    pub width: f32,
    /// Its height.
    pub height: f32,
    /// The places.
    pub places: Vec<PlacedPlace>,
    /// The names outside.
    pub names: Vec<PlacedName>,
    /// The ways.
    pub routes: Vec<Routed>,
    /// The facility line: distance from the left, top and bottom.
    pub line: Option<(f32, f32, f32)>,
    /// Figures of ways that found no room, and full names that did not fit.
    pub notes: Vec<Text>,
}

/// Lays the diagram out on one sheet, or on one for each train when it has more than 25 places; on more where a sheet
/// would be taller than the page.
pub fn sheets(diagram: &Diagram, width: f32, page: f32) -> Vec<Sheet> {
    let mut sheets = Vec::new();
    for most in [MOST_PLACES, 16, 11, 8, 5, 3] {
        let parts = parts(diagram, most);
        let many = parts.len() > 1;
        sheets = parts
            .iter()
            .map(|(title, part)| {
                let mut sheet = best(part, width, page);
                if many {
                    sheet.title = Some(title.clone());
                }
                sheet
            })
            .collect();
        if sheets.iter().all(|sheet| sheet.height <= page) {
            break;
        }
    }
    sheets
}

fn best(part: &Diagram, width: f32, page: f32) -> Sheet {
    let mut best: Option<Sheet> = None;
    for columns in [4, 3, 2, 1] {
        for (dense, pitch) in [(false, 10.0), (false, 6.0), (true, 10.0), (true, 6.0), (true, 3.0)] {
            let Some(sheet) = lay(part, width, columns, dense, pitch) else {
                continue;
            };
            let over = |sheet: &Sheet| (sheet.height + 10.0 * sheet.notes.len() as f32 - page).max(0.0);
            let better = best.as_ref().is_none_or(|held| {
                let (a, b) = (over(&sheet), over(held));
                if (a - b).abs() > 0.1 { a < b } else { sheet.notes.len() < held.notes.len() }
            });
            if better {
                best = Some(sheet);
            }
        }
    }
    best.unwrap_or(Sheet {
        title: None,
        width,
        height: 0.0,
        places: Vec::new(),
        names: Vec::new(),
        routes: Vec::new(),
        line: None,
        notes: Vec::new(),
    })
}

/// The diagram in parts of at most `most` places, by train; ways between parts end at a name that says on which sheet they
/// go on.
fn parts(diagram: &Diagram, most: usize) -> Vec<(String, Diagram)> {
    if diagram.places.len() <= most {
        return vec![(String::new(), diagram.clone())];
    }
    let trains = diagram.places.iter().any(|place| place.train.is_some());
    let mut groups: Vec<(String, Vec<DiagramPlace>)> = Vec::new();
    for place in &diagram.places {
        let train = place.train.clone().unwrap_or_else(|| "Shared".to_owned());
        match groups.iter_mut().find(|(name, held)| *name == train && held.len() < most) {
            Some((_, held)) => held.push(place.clone()),
            None => groups.push((train, vec![place.clone()])),
        }
    }
    let mut sheet_of: BTreeMap<&str, usize> = BTreeMap::new();
    for (number, (_, places)) in groups.iter().enumerate() {
        for place in places {
            sheet_of.insert(&place.id, number);
        }
    }
    let named = |id: &str| -> String {
        diagram.places.iter().find(|place| place.id == id).map_or_else(|| id.to_owned(), |place| place.name.clone())
    };
    groups
        .iter()
        .enumerate()
        .map(|(number, (train, places))| {
            let mut part = Diagram { places: places.clone(), ..Diagram::default() };
            let here = |id: &str| sheet_of.get(id) == Some(&number);
            for way in &diagram.ways {
                let mut way: Way = way.clone();
                match (here(&way.from), here(&way.to)) {
                    (false, false) => continue,
                    (true, false) => {
                        if let Some(other) = sheet_of.get(way.to.as_str()) {
                            let words = format!("to {}, sheet {}", named(&way.to), other + 1);
                            way.to = words.clone();
                            add(&mut part.outside, OutsideName::new(words, Side::Foot));
                        }
                    }
                    (false, true) => {
                        if let Some(other) = sheet_of.get(way.from.as_str()) {
                            let words = format!("from {}, sheet {}", named(&way.from), other + 1);
                            way.from = words.clone();
                            add(&mut part.outside, OutsideName::new(words, Side::Left));
                        }
                    }
                    (true, true) => {}
                }
                for end in [&way.from, &way.to] {
                    if let Some(name) = diagram.outside.iter().find(|name| name.id == *end) {
                        add(&mut part.outside, name.clone());
                    }
                }
                part.ways.push(way);
            }
            let sheet = format!("Sheet {} of {}", number + 1, groups.len());
            let title = if trains { format!("{sheet}: {train}") } else { sheet };
            (title, part)
        })
        .collect()
}

fn add(names: &mut Vec<OutsideName>, name: OutsideName) {
    if !names.iter().any(|held| held.id == name.id) {
        names.push(name);
    }
}

/// The layer of each place: the longest way to it, ways that close a loop left out.
fn layers(diagram: &Diagram) -> Vec<usize> {
    let index: BTreeMap<&str, usize> =
        diagram.places.iter().enumerate().map(|(i, place)| (place.id.as_str(), i)).collect();
    let count = diagram.places.len();
    let mut next: Vec<Vec<usize>> = vec![Vec::new(); count];
    for way in &diagram.ways {
        if let (Some(a), Some(b)) = (index.get(way.from.as_str()), index.get(way.to.as_str()))
            && a != b
            && let Some(list) = next.get_mut(*a)
            && !list.contains(b)
        {
            list.push(*b);
        }
    }
    // Depth first from the places that supplies reach, then in the user's order; a way back to an open place is a loop.
    let mut starts: Vec<usize> = diagram
        .ways
        .iter()
        .filter(|way| !index.contains_key(way.from.as_str()))
        .filter(|way| diagram.outside.iter().any(|name| name.id == way.from && name.side == Side::Left))
        .filter_map(|way| index.get(way.to.as_str()).copied())
        .collect();
    starts.extend(0..count);
    let mut state = vec![0u8; count];
    let mut forward: Vec<(usize, usize)> = Vec::new();
    for start in starts {
        let mut stack = vec![(start, 0usize)];
        if state.get(start).copied().unwrap_or(2) != 0 {
            continue;
        }
        set(&mut state, start, 1);
        while let Some((node, step)) = stack.pop() {
            match next.get(node).and_then(|list| list.get(step)).copied() {
                Some(to) => {
                    stack.push((node, step + 1));
                    match state.get(to).copied().unwrap_or(2) {
                        0 => {
                            forward.push((node, to));
                            set(&mut state, to, 1);
                            stack.push((to, 0));
                        }
                        1 => {}
                        _ => forward.push((node, to)),
                    }
                }
                None => set(&mut state, node, 2),
            }
        }
    }
    let mut layer = vec![0usize; count];
    for _ in 0..count {
        let mut moved = false;
        for (a, b) in &forward {
            let wanted = layer.get(*a).copied().unwrap_or(0) + 1;
            if let Some(held) = layer.get_mut(*b)
                && *held < wanted
            {
                *held = wanted;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    layer
}

fn set(list: &mut [u8], index: usize, value: u8) {
    if let Some(slot) = list.get_mut(index) {
        *slot = value;
    }
}

/// Row and column of each place.
fn cells(diagram: &Diagram, columns: usize, dense: bool) -> (Vec<(usize, usize)>, usize) {
    let layer = layers(diagram);
    let mut order: Vec<usize> = (0..diagram.places.len()).collect();
    order.sort_by_key(|i| (layer.get(*i).copied().unwrap_or(0), *i));
    let mut cells = vec![(0, 0); order.len()];
    if dense {
        for (n, i) in order.iter().enumerate() {
            if let Some(cell) = cells.get_mut(*i) {
                *cell = (n / columns, n % columns);
            }
        }
        return (cells, order.len().div_ceil(columns).max(1));
    }
    let mut base = 0;
    let mut band = 0;
    let mut stacks: BTreeMap<usize, usize> = BTreeMap::new();
    for i in &order {
        let own = layer.get(*i).copied().unwrap_or(0);
        if own / columns != band {
            base += stacks.values().copied().max().unwrap_or(0);
            stacks.clear();
            band = own / columns;
        }
        let stack = stacks.entry(own % columns).or_default();
        if let Some(cell) = cells.get_mut(*i) {
            *cell = (base + *stack, own % columns);
        }
        *stack += 1;
    }
    let rows = base + stacks.values().copied().max().unwrap_or(0);
    (cells, rows.max(1))
}

/// Lays a part out in a number of columns; none when they do not fit across.
fn lay(diagram: &Diagram, width: f32, columns: usize, dense: bool, pitch: f32) -> Option<Sheet> {
    let on = |side: Side| diagram.outside.iter().any(|name| name.side == side);
    let left_zone = if on(Side::Left) { LEFT_NAMES } else { 0.0 };
    let right_zone = if on(Side::Right) { RIGHT_NAMES + 16.0 } else { 4.0 };
    let inner = width - left_zone - right_zone - 2.0 * EDGE_CHANNEL;
    let spare = inner - columns as f32 * PLACE_WIDTH;
    let gaps = columns.saturating_sub(1);
    if spare < gaps as f32 * 22.0 {
        return None;
    }
    // What is spare goes to the channels alike, those at the edges counted in.
    let each = ((spare + 2.0 * EDGE_CHANNEL) / (gaps + 2) as f32).max(EDGE_CHANNEL);
    let edge = each.min(64.0);
    let gap = if gaps == 0 { 0.0 } else { ((spare + 2.0 * (EDGE_CHANNEL - edge)) / gaps as f32).min(110.0) };
    let used = columns as f32 * PLACE_WIDTH + gaps as f32 * gap;
    let first = left_zone + edge;
    let (cells, rows) = cells(diagram, columns, dense);
    let places: Vec<PlacedPlace> = diagram
        .places
        .iter()
        .zip(&cells)
        .map(|(place, (row, column))| PlacedPlace {
            place: place.clone(),
            area: Area {
                x: first + *column as f32 * (PLACE_WIDTH + gap),
                y: 0.0,
                width: PLACE_WIDTH,
                height: PLACE_HEIGHT,
            },
            row: *row,
            column: *column,
        })
        .collect();
    let grid = route::Grid { columns, rows, first, gap, edge, right: first + used, width, pitch };
    let names = names(diagram, &places, &grid, left_zone);
    let rows = names
        .iter()
        .filter(|name| matches!(name.name.side, Side::Left | Side::Right))
        .map(|name| name.row + 1)
        .max()
        .unwrap_or(0)
        .max(rows);
    let grid = route::Grid { rows, ..grid };
    Some(route::route(diagram, places, names, &grid))
}

fn name_lines(name: &OutsideName, room: f32) -> Vec<String> {
    at_most(wrap(&Text::from(&name.name), Type::plain(7.5), room), 4)
        .into_iter()
        .map(|line| line.pieces.into_iter().map(|piece| piece.text).collect())
        .collect()
}

/// Places the names: beside the row of the place they go with, or in a row at the top or the foot.
fn names(diagram: &Diagram, places: &[PlacedPlace], grid: &route::Grid, left_zone: f32) -> Vec<PlacedName> {
    let mut taken: BTreeMap<(bool, usize), f32> = BTreeMap::new();
    let mut placed = Vec::new();
    for name in &diagram.outside {
        let partner = diagram.ways.iter().find_map(|way| {
            let other = if way.from == name.id {
                &way.to
            } else if way.to == name.id {
                &way.from
            } else {
                return None;
            };
            places.iter().find(|place| place.place.id == *other)
        });
        let wanted_row = partner.map_or(0, |place| place.row);
        let middle = partner.map_or(grid.width / 2.0, |place| place.area.x + place.area.width / 2.0);
        match name.side {
            Side::Left | Side::Right => {
                let left = name.side == Side::Left;
                let room = if left { left_zone - 4.0 } else { RIGHT_NAMES - 3.0 };
                let lines = name_lines(name, room);
                let height = lines.len() as f32 * 9.0 + 3.0;
                let free = |row: usize| taken.get(&(left, row)).copied().unwrap_or(0.0) + height <= PLACE_HEIGHT + 6.0;
                let row = (wanted_row..wanted_row + 200).find(|row| free(*row)).unwrap_or(wanted_row);
                *taken.entry((left, row)).or_default() += height;
                let x = if left { left_zone } else { grid.width - RIGHT_NAMES };
                placed.push(PlacedName { name: name.clone(), lines, at: Point { x, y: 0.0 }, row });
            }
            Side::Top | Side::Foot => placed.push(PlacedName {
                name: name.clone(),
                lines: name_lines(name, 92.0),
                at: Point { x: middle, y: 0.0 },
                row: 0,
            }),
        }
    }
    for side in [Side::Top, Side::Foot] {
        spread(&mut placed, side, grid.width);
    }
    placed
}

/// Width of a name as set.
pub(crate) fn name_width(name: &PlacedName) -> f32 {
    name.lines.iter().map(|line| Type::plain(7.5).width(line)).fold(0.0, f32::max)
}

/// Moves the names of the top or the foot apart; those that do not fit in one row go into a second, a third, …
fn spread(placed: &mut [PlacedName], side: Side, width: f32) {
    let mut order: Vec<usize> =
        (0..placed.len()).filter(|i| placed.get(*i).is_some_and(|name| name.name.side == side)).collect();
    order.sort_by(|a, b| {
        let x = |i: &usize| placed.get(*i).map_or(0.0, |name| name.at.x);
        x(a).total_cmp(&x(b))
    });
    let total: f32 = order.iter().filter_map(|i| placed.get(*i)).map(|name| name_width(name) + 10.0).sum();
    let rows = ((total / (width * 0.9)).ceil() as usize).max(1);
    for row in 0..rows {
        let members: Vec<usize> = order.iter().enumerate().filter(|(n, _)| n % rows == row).map(|(_, i)| *i).collect();
        let mut free = 0.0_f32;
        for i in &members {
            if let Some(name) = placed.get_mut(*i) {
                let half = name_width(name) / 2.0;
                name.at.x = name.at.x.max(free + half).max(half);
                name.row = row;
                free = name.at.x + half + 10.0;
            }
        }
        let mut limit = width;
        for i in members.iter().rev() {
            if let Some(name) = placed.get_mut(*i) {
                let half = name_width(name) / 2.0;
                name.at.x = name.at.x.min(limit - half);
                limit = name.at.x - half - 10.0;
            }
        }
    }
}
