//! The site's picture of the demonstration: what stands on it, how much crosses, and the files it is written to.

#![cfg(test)]

use std::path::Path;

use assert_cmd::Command;
use bywash::cli::load;
use bywash::facility::Graph;
use bywash::page::diagram::{Sheet, sheets};
use bywash::page::document::{Basis, Diagram, Side, Sign};
use bywash::page::draw::Point;
use bywash::report::picture::{Site, picture};

/// The picture of a folder's site, and the ends of all ways of its file.
fn picture_of(dir: &Path) -> (Diagram, Vec<(String, String)>) {
    let site = load::read(dir, &load::Asked::default(), &|_, _, _| ()).expect("a sound site");
    let run = load::run(&site).expect("a ledger that closes");
    let drawn = picture(Site { facility: &site.facility, ledger: &run.ledger, period: site.period });
    let name = |id| site.facility.get(id).map(|place| place.name.clone()).unwrap();
    let ways = Graph::of(&site.facility).ways().iter().map(|way| (name(way.from), name(way.to))).collect();
    (drawn, ways)
}

fn crossings(sheet: &Sheet) -> usize {
    let of = |(i, points): (usize, &Vec<Point>)| {
        points.windows(2).map(|pair| (i, pair[0], pair[1])).collect::<Vec<(usize, Point, Point)>>()
    };
    let strokes: Vec<_> = sheet.routes.iter().map(|route| &route.points).enumerate().flat_map(of).collect();
    let turn = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    let mut count = 0;
    for (i, &(way, a, b)) in strokes.iter().enumerate() {
        for &(other, c, d) in &strokes[i + 1..] {
            let parted = turn(a, b, c) * turn(a, b, d) < -1e-3 && turn(c, d, a) * turn(c, d, b) < -1e-3;
            count += usize::from(way != other && parted);
        }
    }
    count
}

#[test]
fn the_demonstration_has_every_way_of_its_file_on_one_sheet_and_hardly_a_crossing() {
    let (drawn, ways) = picture_of(Path::new("demo-facility"));
    for (from, to) in &ways {
        assert!(drawn.ways.iter().any(|way| way.from == *from && way.to == *to), "{from} to {to} is not drawn");
    }
    for (width, page) in [(495.0, 585.0), (478.28, 634.0)] {
        let sheets = sheets(&drawn, width, page);
        let [sheet] = sheets.as_slice() else { panic!("{} sheets", sheets.len()) };
        assert!(sheet.height <= page && sheet.routes.len() == drawn.ways.len());
        assert!(crossings(sheet) <= 10, "{} crossings", crossings(sheet));
        for (route, way) in sheet.routes.iter().zip(&drawn.ways) {
            assert_eq!(route.label.is_some(), way.figure.is_some(), "the figure of {} to {}", way.from, way.to);
        }
    }
}

#[test]
fn rain_and_what_evaporates_are_signs_at_the_place_and_the_wells_figure_is_what_its_dial_moved() {
    let (drawn, _) = picture_of(Path::new("demo-facility"));
    assert!(drawn.outside.iter().all(|name| !["rain", "evaporation", "seepage", "crop"].contains(&name.name.as_str())));
    let place = |name: &str| drawn.places.iter().find(|place| place.name == name).unwrap();
    let signs = |name: &str| place(name).marks.iter().map(|mark| mark.sign).collect::<Vec<Sign>>();
    assert_eq!(signs("Container yard"), [Sign::Rain, Sign::Down]);
    assert!([Sign::Rain, Sign::Up, Sign::Down].iter().all(|sign| signs("Settling pond").contains(sign)));
    let way = |from: &str, to: &str| drawn.ways.iter().find(|way| way.from == from && way.to == to).unwrap();
    // The dial of M1 stood at 4 812 345 gal when the period opened and at 8 422 572 gal when it closed.
    let well = way("Well", "Storage pond").figure.clone().unwrap();
    assert_eq!((well.text.as_str(), well.basis), ("3.61", Basis::Metered));
    // The tile under the header house ran on no day; it is drawn all the same, without a figure.
    let drain = way("Return tank", "House drain");
    assert!(drain.figure.is_none() && drain.volume.is_none());
    assert_eq!(drawn.outside.iter().filter(|name| name.side == Side::Right).count(), 5);
}

#[test]
fn drawings_go_to_a_folder_and_take_no_other_files_place() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name);
    let report = |folder: &str| {
        let mut command = Command::cargo_bin("bywash").unwrap();
        command.args(["report", "demo-facility", "--draws", "2", "-o"]).arg(at("a.pdf")).arg("--figures");
        command.arg(at(folder)).output().unwrap()
    };
    for _ in 0..2 {
        assert!(report("drawings").status.success(), "made, then made again");
    }
    let drawn = std::fs::read_to_string(at("drawings/picture.svg")).unwrap();
    assert!(drawn.starts_with("<svg xmlns=") && drawn.contains("Storage pond") && drawn.contains("this wide ="));
    assert!(at("drawings/chart-1.svg").is_file());
    std::fs::write(at("drawings/picture.svg"), "a map that somebody drew").unwrap();
    let refused = report("drawings");
    assert!(!refused.status.success());
    assert!(String::from_utf8_lossy(&refused.stderr).contains("is not a drawing"));
    assert_eq!(std::fs::read_to_string(at("drawings/picture.svg")).unwrap(), "a map that somebody drew");
    std::fs::write(at("notes"), "x").unwrap();
    assert!(!report("notes").status.success());
}
