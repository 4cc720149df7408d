//! Runoff by curve number from ground as wet as the rain before has left it.

use approx::assert_relative_eq;

use super::site::*;
use crate::balance::{Node, Purpose, Selector, Watch};
use crate::facility::model::*;
use crate::quantity::{DayOfYear, DaySpan};

/// Curve number 80 on 1000 m², 50 mm of rain. Dry ground is 63 by the table: S = 25400/63 − 254 = 149.175 mm,
/// (50 − 29.835)²/(50 + 119.340) = 2.4013 mm. Average: S = 63.5, 37.3²/100.8 = 13.8025 mm. Wet is 91: S = 25.121,
/// 44.976²/70.097 = 28.8578 mm. In a growing season five days of less than 35.6 mm leave it dry, of more than 53.3 wet.
#[test]
fn the_rain_of_five_days_before_sets_how_much_of_a_storm_runs_off() {
    let run = |ground| {
        let mut site = Site::new();
        let end = |month, day| DayOfYear { month, day };
        site.facility.seasons = vec![Season {
            name: "growing".into(),
            days: DaySpan { from: end(1, 1), to: end(12, 31) },
            place: crate::told::Place::file("test"),
        }];
        site.rain_mm = vec![50.0, 0.0, 0.0, 0.0, 0.0, 0.0, 50.0, 50.0, 50.0];
        let ditch = site.outside("Ditch");
        let yard = site.add(
            "Yard",
            PlaceKind::Catchment(Catchment {
                parts: vec![Part {
                    name: "Yard".into(),
                    area: g(m2(1000.0)),
                    runoff: RunoffRule::CurveNumber(g(part(80.0))),
                    ground,
                }],
                solids: Vec::new(),
                goes_to: to(ditch),
            }),
        );
        let run = site.run(9);
        run.ledger
            .series(&Watch::Water(Selector {
                from: Some(Node::Place(yard)),
                to: Some(Node::Place(ditch)),
                purpose: Some(Purpose::Runoff),
            }))
            .values
    };
    let (dry, average, wet) = (2.401_3, 13.802_5, 28.857_8);
    let by_rain = run(GroundBefore::ByRain);
    // Nothing is known of the days before the first; then five dry days, then 50 mm, then 100.
    for (day, expected) in [(0, average), (6, dry), (7, average), (8, wet)] {
        assert_relative_eq!(by_rain[day], expected, max_relative = 1e-4);
    }
    assert_relative_eq!(run(GroundBefore::Dry)[8], dry, max_relative = 1e-4);
    assert_relative_eq!(run(GroundBefore::Average)[8], average, max_relative = 1e-4);
    assert_relative_eq!(run(GroundBefore::Wet)[0], wet, max_relative = 1e-4);
}
