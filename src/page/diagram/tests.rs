//! Sites drawn, and what the drawing must keep to, measured on its own lines.

use crate::page::diagram::{Sheet, draw, sheets};
use crate::page::document::{Basis, Carries, Cue, Diagram, DiagramPlace, DrawnFigure, OutsideName, Side, Sign, Way};
use crate::page::draw::{Area, Point, SvgCanvas};

const WIDTH: f32 = 495.0;
const PAGE: f32 = 585.0;

/// Numbers that look drawn by lot, the same on each run.
struct Lot(u64);

impl Lot {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % most as u64) as usize
    }

    /// A place among those before `i`, mostly a near one.
    fn before(&mut self, i: usize) -> usize {
        if self.below(5) == 0 { self.below(i) } else { i - 1 - self.below(i.min(3)) }
    }
}

/// A site of so many places: ponds, ground, filters that send wash water back, floors that return, tanks that overflow.
fn site(count: usize, seed: u64) -> Diagram {
    let mut lot = Lot(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut site = Diagram { unit: "million gal".into(), ..Diagram::default() };
    for (name, side) in [("Well", Side::Left), ("Creek", Side::Right), ("Sewer", Side::Right)] {
        site.outside.push(OutsideName::new(name, side));
    }
    let mut ways: Vec<(String, String, Carries, f64)> = Vec::new();
    for i in 0..count {
        let what = if i == 0 { 0 } else { lot.below(5) };
        let (kind, cue) = [
            ("pond", Cue::Store),
            ("catchment", Cue::Plain),
            ("deep media bed", Cue::Filter),
            ("flood floor", Cue::Plain),
            ("tank", Cue::Store),
        ][what];
        let name = format!("{} {}", ["Pond", "Roofs", "Sand beds", "House", "Return tank"][what], i + 1);
        let mut place = DiagramPlace::new(kind, name.clone()).cue(cue);
        if what == 0 {
            place = place.mark(Sign::Rain, "rain", "0.42", Basis::Metered);
            place = place.mark(Sign::Up, "evaporated", "0.31", Basis::Computed);
            place = place.mark(Sign::Down, "seeped away", "0.20", Basis::Assumed);
        }
        site.places.push(place);
        if i == 0 {
            ways.push(("Well".into(), name.clone(), Carries::Water, 3.0));
            ways.push((name, "Creek".into(), Carries::Spill, 0.4));
            continue;
        }
        let other = site.places[lot.before(i)].id.clone();
        let volume = 0.1 + lot.below(60) as f64 / 10.0;
        if what == 1 {
            ways.push((name.clone(), other, Carries::Water, 1.2));
        } else {
            ways.push((other, name.clone(), Carries::Water, volume));
        }
        let back = site.places[lot.before(i)].id.clone();
        match what {
            2 => ways.push((name, back, Carries::WashWater, 0.2)),
            3 => ways.push((name, back, Carries::Water, volume / 2.0)),
            4 if lot.below(3) == 0 => ways.push((name, "Sewer".into(), Carries::Spill, 0.0)),
            _ => {}
        }
    }
    for (from, to, carries, volume) in ways {
        let known = |way: &Way| way.from == from && way.to == to && way.carries == carries;
        if site.ways.iter().any(known) {
            continue;
        }
        let way = Way::new(from, to).carries(carries);
        let flowed = volume > 0.0;
        site.ways.push(if flowed { way.volume(volume).figure(format!("{volume:.2}"), Basis::Computed) } else { way });
    }
    site
}

type Stroke = (usize, Point, Point);

fn strokes(sheet: &Sheet) -> Vec<Stroke> {
    let of = |(i, route): (usize, &crate::page::diagram::Routed)| {
        route.points.windows(2).map(|pair| (i, pair[0], pair[1])).collect::<Vec<_>>()
    };
    sheet.routes.iter().enumerate().flat_map(of).collect()
}

/// Whether two strokes cross, wherever they point: each has its ends on both sides of the other.
fn cross((_, a, b): &Stroke, (_, c, d): &Stroke) -> bool {
    let turn = |p: &Point, q: &Point, r: &Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < -1e-3 && turn(c, d, a) * turn(c, d, b) < -1e-3
}

fn crossings(sheet: &Sheet) -> usize {
    let all = strokes(sheet);
    let later = |i: usize| all.iter().skip(i + 1);
    all.iter().enumerate().map(|(i, one)| later(i).filter(|other| one.0 != other.0 && cross(one, other)).count()).sum()
}

/// The ground that a stroke covers, `by` points less on each side.
fn ground((_, a, b): &Stroke, half: f32) -> Area {
    let (x, y) = (a.x.min(b.x) - half, a.y.min(b.y) - half);
    Area { x, y, width: (a.x - b.x).abs() + 2.0 * half, height: (a.y - b.y).abs() + 2.0 * half }
}

fn shrunk(area: Area, by: f32) -> Area {
    Area { x: area.x + by, y: area.y + by, width: area.width - 2.0 * by, height: area.height - 2.0 * by }
}

fn on_edge(area: Area, point: Point) -> bool {
    !shrunk(area, 0.2).meets(&Area { x: point.x, y: point.y, width: 0.01, height: 0.01 })
        && shrunk(area, -0.2).meets(&Area { x: point.x, y: point.y, width: 0.01, height: 0.01 })
}

/// Checks a sheet; returns how many figures found no room.
fn holds_up(sheet: &Sheet, what: &str) -> usize {
    assert!(sheet.height <= PAGE + 1.0, "{what}: {} high", sheet.height);
    let boxes: Vec<Area> = sheet.places.iter().map(|placed| placed.area).collect();
    for (i, one) in boxes.iter().enumerate() {
        assert!(one.x >= 0.0 && one.right() <= WIDTH && one.y >= 0.0 && one.bottom() <= sheet.map, "{what}: {one:?}");
        assert!(boxes.iter().skip(i + 1).all(|other| !one.meets(other)), "{what}: places on each other");
    }
    for (i, name) in sheet.names.iter().enumerate() {
        let area = name.area();
        assert!(area.x >= -0.1 && area.right() <= WIDTH + 0.1, "{what}: {:?} sticks out", name.lines);
        assert!(boxes.iter().all(|other| !other.meets(&area)), "{what}: a name on a place");
        let others = sheet.names.iter().skip(i + 1);
        assert!(others.into_iter().all(|other| !other.area().meets(&area)), "{what}: names on each other");
    }
    let all = strokes(sheet);
    for stroke in &all {
        for area in &boxes {
            assert!(!shrunk(*area, 0.3).meets(&ground(stroke, 0.01)), "{what}: way {} through a place", stroke.0);
        }
    }
    for (i, route) in sheet.routes.iter().enumerate() {
        for (end, point) in [(route.ends.0, route.points.first()), (route.ends.1, route.points.last())] {
            let point = *point.unwrap_or_else(|| panic!("{what}: way {i} is not drawn"));
            let Some(area) = boxes.get(end) else { continue };
            assert!(on_edge(*area, point), "{what}: way {i} ends at {point:?}, not on {area:?}");
        }
    }
    for (i, one) in all.iter().enumerate() {
        for other in all.iter().skip(i + 1).filter(|other| other.0 != one.0 && !cross(one, other)) {
            assert!(
                !ground(one, 0.3).meets(&ground(other, 0.3)),
                "{what}: ways {} and {} on each other",
                one.0,
                other.0
            );
        }
    }
    let labels: Vec<(usize, Area)> =
        sheet.routes.iter().enumerate().filter_map(|(i, route)| Some((i, route.label.as_ref()?.area))).collect();
    for (n, (way, label)) in labels.iter().enumerate() {
        assert!(boxes.iter().all(|area| !area.meets(label)), "{what}: a figure on a place");
        assert!(sheet.names.iter().all(|name| !name.area().meets(label)), "{what}: a figure on a name");
        assert!(labels.iter().skip(n + 1).all(|(_, other)| !other.meets(label)), "{what}: figures on each other");
        for stroke in all.iter().filter(|stroke| stroke.0 != *way) {
            let half = sheet.routes[stroke.0].width / 2.0;
            assert!(!ground(stroke, half).meets(label), "{what}: a figure of way {way} on way {}", stroke.0);
        }
    }
    sheet.routes.iter().filter(|route| !route.words.is_empty() && route.label.is_none()).count()
}

#[test]
fn sites_of_all_sizes_are_drawn_with_few_crossings_and_nothing_on_anything() {
    for (count, seeds) in [(1, 1..2), (3, 1..4), (15, 1..4), (25, 1..3), (60, 1..2)] {
        for seed in seeds {
            let what = format!("{count} places, seed {seed}");
            let site = site(count, seed);
            let sheets = sheets(&site, WIDTH, PAGE);
            assert_eq!(sheets.iter().map(|sheet| sheet.places.len()).sum::<usize>(), count, "{what}");
            assert!(sheets.len() == 1 || count > 25, "{what}: {} sheets", sheets.len());
            let mut ways = 0;
            for sheet in &sheets {
                let lost = holds_up(sheet, &what);
                assert!(lost * 10 <= sheet.places.len(), "{what}: {lost} figures without room");
                let crossed = crossings(sheet);
                assert_eq!(crossed, sheet.crossings(), "{what}");
                assert!(crossed <= sheet.places.len(), "{what}: {crossed} crossings");
                ways += sheet.routes.len();
            }
            assert!(ways >= site.ways.len(), "{what}: a way is lost");
        }
    }
}

#[test]
fn a_small_site_may_have_many_ways_in_and_out() {
    let mut site = site(3, 1);
    for i in 0..9 {
        let place = site.places[i % 3].id.clone();
        let (supply, outfall) = (format!("Town water number {i}"), format!("Drain at the long wall {i}"));
        site.outside.push(OutsideName::new(supply.clone(), Side::Left));
        site.outside.push(OutsideName::new(outfall.clone(), Side::Right));
        site.ways.push(Way::new(supply, place.clone()).volume(0.5).figure("0.50", Basis::Metered));
        site.ways.push(Way::new(place, outfall).carries(Carries::Spill).volume(0.2).figure("0.20", Basis::Computed));
    }
    let sheet = sheets(&site, WIDTH, PAGE).remove(0);
    assert_eq!(holds_up(&sheet, "many names"), 0);
}

#[test]
fn more_names_than_a_sheet_has_room_for_share_one() {
    let mut site = site(3, 1);
    for i in 0..300 {
        let place = site.places[i % 3].id.clone();
        site.outside.push(OutsideName::new(format!("Well {i}"), Side::Left));
        site.ways.push(Way::new(format!("Well {i}"), place).volume(0.5).figure("0.50", Basis::Metered));
    }
    let sheet = sheets(&site, WIDTH, PAGE).remove(0);
    holds_up(&sheet, "300 wells");
    assert!(sheet.names.iter().any(|name| name.name.name == "286 more"), "the first 15 of 301 have a name each");
    let shared = |route: &&crate::page::diagram::Routed| route.ends.0 == 3 + sheet.names.len() - 1;
    assert_eq!(sheet.routes.iter().filter(shared).count(), 3, "one way to each place");
}

#[test]
fn sheets_name_one_another() {
    let site = site(60, 3);
    let sheets = sheets(&site, WIDTH, PAGE);
    assert!(sheets.len() > 1);
    for (number, sheet) in sheets.iter().enumerate() {
        assert!(sheet.title.as_ref().unwrap().starts_with(&format!("Sheet {} of {}", number + 1, sheets.len())));
        for name in sheet.names.iter().filter(|name| name.name.name.starts_with("to ")) {
            let (place, other) = name.name.name[3..].rsplit_once(", sheet ").unwrap();
            let other: usize = other.parse().unwrap();
            assert!(sheets[other - 1].places.iter().any(|placed| placed.place.name == place), "{}", name.name.name);
        }
    }
}

#[test]
fn what_the_user_laid_out_stands_so() {
    let mut site = site(9, 2);
    let names: Vec<String> = site.places.iter().map(|place| place.id.clone()).collect();
    // Two of the nine are left to the program.
    let rows: Vec<Vec<String>> = vec![
        vec![names[4].clone(), "Creek".into()],
        vec!["Well".into(), names[0].clone(), names[6].clone(), names[2].clone(), names[8].clone()],
        vec![names[5].clone(), names[1].clone()],
    ];
    site.rows = rows.clone();
    let sheets = sheets(&site, WIDTH, PAGE);
    holds_up(&sheets[0], "by hand");
    let cell = |id: &String| sheets[0].places.iter().find(|placed| placed.place.id == *id).map(|placed| placed.cell);
    for (number, row) in rows.iter().enumerate() {
        let cells: Vec<(usize, usize)> = row.iter().filter_map(cell).collect();
        assert!(cells.iter().all(|cell| cell.0 == number), "row {number}: {cells:?}");
        assert!(cells.windows(2).all(|pair| pair[0].1 < pair[1].1), "row {number}: {cells:?}");
    }
    assert_eq!(sheets[0].places.len(), 9);
    let height = |id: &str| sheets[0].names.iter().find(|name| name.name.id == id).unwrap().at.y;
    assert!(height("Creek") < height("Well"), "names stand beside the row they are in");
}

#[test]
fn the_width_of_a_way_is_its_volume_to_scale() {
    let mut site = Diagram { unit: "m³".into(), ..Diagram::default() };
    for name in ["A", "B", "C", "D"] {
        site.places.push(DiagramPlace::new("tank", name));
    }
    for (from, to, volume) in [("A", "B", 800.0), ("B", "C", 400.0), ("C", "D", 1.0)] {
        site.ways.push(Way::new(from, to).volume(volume));
    }
    site.ways.push(Way::new("D", "A"));
    let sheet = sheets(&site, WIDTH, PAGE).remove(0);
    let width = |i: usize| sheet.routes[i].width;
    assert!((width(0) - 2.0 * width(1)).abs() < 0.01, "half the water is half as wide");
    assert!(width(3) < width(2) && width(2) < width(1), "a line for little, a thin one for none");
    let mut svg = SvgCanvas::new(WIDTH, sheet.height, "site");
    draw(&mut svg, &sheet, 0.0, 0.0);
    let text = svg.finish();
    for words in ["this wide = 500 m³", "a line: less than 96 m³", "thin: nothing booked in the period"] {
        assert!(text.contains(words), "the key lacks {words}");
    }
}

#[test]
fn names_of_the_user_become_no_markup() {
    let mut site = Diagram::default();
    site.places.push(DiagramPlace::new("pond", "<script>&\"'"));
    let sheet = sheets(&site, WIDTH, PAGE).remove(0);
    let mut svg = SvgCanvas::new(WIDTH, sheet.height, "</title><script>");
    draw(&mut svg, &sheet, 0.0, 0.0);
    let text = svg.finish();
    assert!(!text.contains("<script") && text.contains("&lt;script&gt;"), "{text}");
}

#[test]
fn places_whose_names_take_many_lines_stand_on_as_many_sheets_as_they_need() {
    for (count, seed) in [(9, 1), (15, 2), (25, 1), (40, 3)] {
        let mut site = site(count, seed);
        for place in &mut site.places {
            place.name = format!("Rainwater retention basin behind the upper propagation houses, {}", place.name);
            place.figure = Some(DrawnFigure { text: "12 345 more in it".into(), basis: Basis::Computed });
        }
        let sheets = sheets(&site, WIDTH, PAGE);
        assert_eq!(sheets.iter().map(|sheet| sheet.places.len()).sum::<usize>(), count);
        for sheet in &sheets {
            assert!(sheet.height <= PAGE, "{count} places: a sheet of {} is {} high", sheet.places.len(), sheet.height);
        }
    }
}

#[test]
fn trains_that_share_nothing_fill_a_sheet_together() {
    let mut site = Diagram { unit: "million gal".into(), ..Diagram::default() };
    for train in 0..10 {
        let names: Vec<String> = (0..5).map(|place| format!("Place {train}.{place}")).collect();
        site.places.extend(names.iter().map(|name| DiagramPlace::new("tank", name.clone())));
        site.ways.extend(names.windows(2).map(|pair| Way::new(pair[0].clone(), pair[1].clone()).volume(1.0)));
    }
    let on: Vec<usize> = sheets(&site, WIDTH, PAGE).iter().map(|sheet| sheet.places.len()).collect();
    // Three trains of five are the most that a sheet of 16 places can hold whole.
    assert_eq!(on, [15, 15, 15, 5]);
}
