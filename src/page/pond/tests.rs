use super::*;
use crate::page::document::{PondBank, PondLayer, PondLevel};
use crate::page::draw::{Area, Colour};

/// What was drawn.
#[derive(Default)]
struct Drawn {
    lines: Vec<Vec<Point>>,
    words: Vec<(Area, String)>,
}

impl Canvas for Drawn {
    fn line(&mut self, points: &[Point], _pen: Pen) {
        self.lines.push(points.to_vec());
    }

    fn fill(&mut self, _points: &[Point], _colour: Colour) {}

    fn words(&mut self, start: Point, words: &str, kind: Type) {
        assert!(kind.size >= 7.5, "{words}");
        let area = Area { x: start.x, y: start.y - 0.75 * kind.size, width: kind.width(words), height: kind.size };
        self.words.push((area, words.to_owned()));
    }
}

/// A pond of 40 by 20 m at the spill level, 2 m deep, 2 to 1, 0.5 m of freeboard, 3 m banks.
fn pond(name: &str, times: f64) -> DrawnPond {
    let layer =
        |name: &str, from: f64, to: f64, pattern| PondLayer { name: name.to_owned(), from, to, volume: 1.0, pattern };
    let level = |name: &str, level: f64| PondLevel { name: name.to_owned(), level };
    DrawnPond {
        name: name.to_owned(),
        plan: Some(PondPlan {
            floor: (32.0 * times, 12.0 * times),
            water: (40.0 * times, 20.0 * times),
            crest: (42.0 * times, 22.0 * times),
            over_banks: Some((48.0 * times, 28.0 * times)),
        }),
        profile: vec![(0.0, 32.0 * times), (2.5, 42.0 * times)],
        bank: Some(PondBank { top: 3.0, reach: 2.0, ground: if times > 2.0 { -0.5 } else { 1.2 } }),
        berm: Some(PondBerm { from_edge: 9.0 * times, across: 14.0 * times, top: 0.5, wide: 0.5 * times, side: 1.0 }),
        layers: vec![
            layer("Sludge store", 0.0, 0.02, Pattern::Dots),
            layer("Settling pool", 0.02, 0.5, Pattern::Level),
            layer("Storm", 0.5, 2.0, Pattern::Diagonal),
            layer("Freeboard", 2.0, 2.5, Pattern::Plain),
        ],
        levels: vec![
            level("floor", 0.0),
            level("a level of a name far too long for it", 0.04),
            level("spill level", 2.0),
            level("bank top", 2.5),
        ],
        words: vec!["a line".to_owned()],
    }
}

fn drawing(ponds: Vec<DrawnPond>) -> PondDrawing {
    PondDrawing { unit: "m".to_owned(), digits: 1, side_digits: 1, metres: 1.0, volume_unit: "m³".to_owned(), ponds }
}

#[test]
fn a_plan_is_as_long_and_wide_on_the_sheet_as_its_scale_says() {
    let drawing = drawing(vec![pond("found", 1.0), pond("present", 0.5)]);
    let scales = Scales::of(&drawing, 495.0);
    let mut drawn = Drawn::default();
    draw(&mut drawn, &drawing, at(0.0, 0.0), 495.0);
    // 1 to N: 40 m are 40 000 / N mm, and a point is 25.4 / 72 mm.
    let points = |metres: f32| metres * 1000.0 / scales.one_to as f32 * 72.0 / 25.4;
    let is_there = |length: f32, width: f32| {
        drawn.lines.iter().any(|line| match line.as_slice() {
            [a, b, c, _, _] => {
                ((b.x - a.x) - points(length)).abs() < 0.05 && ((c.y - b.y) - points(width)).abs() < 0.05
            }
            _ => false,
        })
    };
    assert!(is_there(40.0, 20.0) && is_there(20.0, 10.0) && is_there(48.0, 28.0));
    // The section: 2.5 m high, so many times larger.
    let outline = drawn.lines.iter().find(|line| line.len() == 10).expect("the outline");
    let tall =
        outline.iter().map(|p| p.y).fold(f32::MIN, f32::max) - outline.iter().map(|p| p.y).fold(f32::MAX, f32::min);
    assert!((tall - points(2.5) * scales.times as f32).abs() < 0.05);
}

#[test]
fn no_label_lies_on_another_and_all_stay_on_the_drawing() {
    for ponds in [
        vec![pond("found", 1.0)],
        vec![pond("found", 1.0), pond("present", 0.1)],
        vec![pond("found", 12.0), pond("present", 3.0)],
    ] {
        let drawing = drawing(ponds);
        for width in [478.0_f32, 495.0] {
            let mut drawn = Drawn::default();
            draw(&mut drawn, &drawing, at(0.0, 0.0), width);
            let tall = height(&drawing, width);
            for (i, (area, words)) in drawn.words.iter().enumerate() {
                assert!(area.x >= -0.1 && area.right() <= width + 0.1 && area.bottom() <= tall + 0.1, "{words}");
                for (other, more) in drawn.words.iter().skip(i + 1) {
                    assert!(!area.meets(other), "{words} on {more}");
                }
            }
        }
    }
}

#[test]
fn a_pattern_stays_within_its_slice() {
    let slice = Slice { middle: 100.0, top: 10.0, foot: 40.0, top_half: 60.0, foot_half: 30.0 };
    for pattern in [Pattern::Level, Pattern::Upright, Pattern::Diagonal] {
        let mut drawn = Drawn::default();
        slice.fill(&mut drawn, pattern);
        assert!(drawn.lines.len() > 5, "{pattern:?}");
        for point in drawn.lines.iter().flatten() {
            assert!(point.y > 9.99 && point.y < 40.01, "{pattern:?} {point:?}");
            assert!((point.x - 100.0).abs() < slice.half(point.y) + 0.05, "{pattern:?} {point:?}");
        }
    }
}
