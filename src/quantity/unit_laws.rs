//! Laws of units, held against factors written down a second time: NIST SP 811 (2008), appendix B.8, whose figures with a
//! star are exact (from memory; the inch, the pound, the gallon of 231 in³ and the acre of 43 560 ft² define them).

use super::kind::{self, Kind};
use super::number::Exact;
use super::unit::Unit;
use super::{range, units, units_meant};

/// SI of one word of a unit's name.
fn word(text: &str) -> Option<f64> {
    let (base, power) =
        match text.strip_suffix('2').map(|base| (base, 2)).or(text.strip_suffix('3').map(|base| (base, 3))) {
            Some(pair) => pair,
            None => (text, 1),
        };
    let (m, gal, lb) = (0.3048, 3.785_411_784e-3, 0.453_592_37);
    let si = match base {
        "in" => 0.0254,
        "hundredths of in" => 0.000_254,
        "ft" => m,
        "yd" => 0.9144,
        "m" | "kg" | "s" | "times" | "x" | "times dry" | "N" | "NTU" | "W" => 1.0,
        "mm" => 1e-3,
        "tenths of mm" => 1e-4,
        "cm" => 1e-2,
        "um" => 1e-6,
        "acre" => 4_046.856_422_4,
        "ha" => 1e4,
        "gal" => gal,
        "kgal" => 1e3 * gal,
        "Mgal" => 1e6 * gal,
        "CCF" => 100.0 * 2.831_684_659_2e-2,
        "kcf" => 1e3 * 2.831_684_659_2e-2,
        "L" => 1e-3,
        "mL" => 1e-6,
        "kL" => 1.0,
        "ML" => 1e3,
        "g" => 1e-3,
        "mg" => 1e-6,
        "ug" => 1e-9,
        "ng" => 1e-12,
        "lb" => lb,
        "oz" => 2.834_952_312_5e-2,
        "ton" => 2000.0 * lb,
        "tonne" | "t" => 1e3,
        "min" => 60.0,
        "h" => 3600.0,
        "day" => 86_400.0,
        "week" => 604_800.0,
        "month" => 1.0,
        "%" => 0.01,
        "MJ" => 1e6,
        "kW" => 1e3,
        "kWh" => 3.6e6,
        // 550 ft·lbf/s with standard gravity.
        "hp" => 550.0 * m * lb * 9.806_65,
        "S" => -1.0,
        "mS" => 1e-3,
        "uS" => 1e-6,
        "times water" => 1e3,
        _ => return None,
    };
    Some(f64::powi(si, power))
}

/// SI of one of a unit by its name: words multiplied, then divided by those behind strokes.
fn by_its_name(name: &str) -> Option<f64> {
    let whole = match name {
        "gpm" => "gal/min",
        "gph" => "gal/h",
        "MGD" => "Mgal/day",
        "cfs" => "ft3/s",
        "cfm" => "ft3/min",
        "gpm/ft2" => "gal/min/ft2",
        "gpd/ft2" => "gal/day/ft2",
        "per 100 mL" => return Some(1.0 / (100.0 * 1e-6)),
        // Content: mass in mass, of the short ton here.
        other => other,
    };
    let mut parts = whole.split('/');
    let mut si = parts.next()?.split('-').map(word).product::<Option<f64>>()?;
    for part in parts {
        si /= word(part)?;
    }
    Some(si)
}

fn agrees(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-14 * b.abs()
}

#[test]
fn every_unit_is_what_its_name_says_by_factors_written_a_second_time() {
    for unit in units::ALL.iter().filter(|unit| unit.offset_hundredths == 0) {
        let expected = by_its_name(unit.name).unwrap_or_else(|| panic!("{} is not in the second table", unit.name));
        let got = unit.to_si(Exact::whole(1));
        assert!(agrees(got, expected), "{}: {got} and {expected}", unit.name);
    }
    // SP 811: T/K = (t/°F + 459.67)/1.8 and t/°C + 273.15.
    assert!(agrees(units::F.to_si(Exact::whole(68)), (68.0 + 459.67) / 1.8));
    assert!(agrees(units::C.to_si(Exact::whole(20)), 293.15));
}

/// A value typed in any unit of a kind, by any of its names, is the value typed in any other unit of it.
fn one_kind<K: Kind>() {
    for unit in K::UNITS {
        // `0.1 mm` names a column's unit; behind a number it would be a second one.
        let names = std::iter::once(&unit.name).chain(unit.also);
        for name in names.filter(|name| !name.starts_with(|c: char| c.is_ascii_digit())) {
            for text in ["3", "0.7", "2 1/4"] {
                let number = if text == "2 1/4" { 2.25 } else { text.parse().unwrap() };
                let si = unit.to_si_f64(number);
                let low = K::LEAST.map_or(f64::NEG_INFINITY, |(least, _)| least);
                let most = K::MOST.map_or(f64::INFINITY, |(most, _)| most);
                if !(low..=most).contains(&si) {
                    continue;
                }
                let read = range::<K>(&format!("{text} {name}")).unwrap_or_else(|e| panic!("{text} {name}: {e:?}"));
                assert!(agrees(K::to_si(read.low), si) || si == 0.0, "{text} {name}");
                for other in K::UNITS {
                    let converted = other.from_si(K::to_si(read.low));
                    assert!(
                        (other.to_si_f64(converted) - si).abs() <= 1e-12 * si.abs().max(1e-300),
                        "{name}: {}",
                        other.name
                    );
                }
            }
        }
    }
}

#[test]
fn a_value_is_the_same_water_in_whatever_unit_it_is_typed() {
    one_kind::<kind::Length>();
    one_kind::<kind::Level>();
    one_kind::<kind::Size>();
    one_kind::<kind::RainDepth>();
    one_kind::<kind::Area>();
    one_kind::<kind::Volume>();
    one_kind::<kind::Flow>();
    one_kind::<kind::DailyVolume>();
    one_kind::<kind::DepthRate>();
    one_kind::<kind::MonthlyDepth>();
    one_kind::<kind::Flux>();
    one_kind::<kind::Speed>();
    one_kind::<kind::Concentration>();
    one_kind::<kind::ArealMass>();
    one_kind::<kind::MassRate>();
    one_kind::<kind::Mass>();
    one_kind::<kind::Temperature>();
    one_kind::<kind::Time>();
}

#[test]
fn feet_and_inches_are_inches_in_all() {
    // 6 ft 3 in is 75 in, 1.905 m.
    for text in ["6 ft 3 in", "6' 3\"", "6ft. 3in.", "6 feet, 3 inches", "6'-3\"", "75 in", "6 1/4 ft"] {
        let read = range::<kind::Level>(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
        assert!(agrees(kind::Level::to_si(read.low), 1.905), "{text}");
    }
    for text in ["6 ft 12 in", "6 ft 3", "6 ft 3 ft", "-6 ft 3 in", "6 in 3 ft"] {
        assert!(range::<kind::Level>(text).is_err(), "{text}");
    }
    assert!(range::<kind::Size>("1 ft 3 in").is_err(), "no grain is taped");
}

/// Every slip of one letter in every unit's name: what is suggested alone is never a hundred times what was meant.
#[test]
fn no_suggestion_changes_a_unit_by_a_hundred() {
    for among in [kind::Volume::UNITS, kind::Flow::UNITS, kind::Concentration::UNITS, kind::RainDepth::UNITS] {
        for unit in among {
            for slip in slips(unit.name) {
                if among.iter().any(|other| other.is_named(&slip)) {
                    continue;
                }
                let Some(meant) = units_meant(&slip, among) else { continue };
                let names: Vec<&str> = meant.split('`').skip(1).step_by(2).collect();
                if let [only] = names.as_slice() {
                    let only = units::ALL.iter().find(|unit| unit.name == *only).unwrap();
                    let ratio = (only.to_si_f64(1.0) / unit.to_si_f64(1.0)).abs();
                    let alike = only.dimension == unit.dimension;
                    assert!(!alike || (0.01..100.0).contains(&ratio), "`{slip}` for {}: {meant}", unit.name);
                }
            }
        }
    }
    let none: &[Unit] = &[];
    assert_eq!(units_meant("hL", kind::Volume::UNITS), None);
    assert_eq!(units_meant("gal", none), None);
}

fn slips(name: &str) -> Vec<String> {
    let letters: Vec<char> = name.chars().collect();
    let mut out = Vec::new();
    for at in 0..letters.len() {
        let mut less = letters.clone();
        less.remove(at);
        out.push(less.iter().collect());
        if at + 1 < letters.len() {
            let mut swapped = letters.clone();
            swapped.swap(at, at + 1);
            out.push(swapped.iter().collect());
        }
        for c in "cdgklmnu".chars() {
            let (mut other, mut more) = (letters.clone(), letters.clone());
            other[at] = c;
            more.insert(at, c);
            out.push(other.iter().collect());
            out.push(more.iter().collect());
        }
    }
    out.retain(|slip: &String| !slip.trim().is_empty());
    out
}
