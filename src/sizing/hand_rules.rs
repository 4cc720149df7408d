//! Published hand rules, held beside the pond that was found: a look at whether it is in the usual range, not a duty.

use uom::si::area::square_meter;
use uom::si::f64::{Area, Ratio, Velocity, VolumeRate};
use uom::si::ratio::ratio;
use uom::si::velocity::meter_per_second;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::science::Standing;
use crate::science::ponds::{BASIN_RULE_FT3_PER_ACRE, SEDIMENT_RULE_FT3_PER_ACRE, area_by_rule, volume_by_rule};

use super::Basin;

/// What a rule asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Asks {
    /// A volume, m³.
    Volume(f64),
    /// A water area, m².
    Area(f64),
    /// Length over width.
    LengthToWidth(f64),
}

/// A rule and what it comes to at this site.
#[derive(Debug, Clone, PartialEq)]
pub struct HandRule {
    /// The rule in words, in the units it is printed in.
    pub rule: &'static str,
    /// What it asks for here.
    pub asks: Asks,
    /// What the pond has of it.
    pub has: f64,
    /// Where the rule comes from.
    pub source: &'static str,
    /// How well that is known.
    pub standing: Standing,
}

const CUBIC_FOOT_M3: f64 = 0.028_316_846_592;
const SQUARE_FOOT_M2: f64 = 0.092_903_04;
const ACRE_M2: f64 = 4_046.856_422_4;

/// 435 ft² of water for each ft³/s of the ten-year peak.
pub const FT2_PER_CFS: f64 = 435.0;
/// At most 5.66 ft³/s for each acre of water.
pub const MOST_CFS_PER_ACRE: f64 = 5.66;
/// Least detention at the peak, hours.
pub const DETENTION_H: f64 = 4.0;
/// Length over width, at least.
pub const LENGTH_TO_WIDTH: f64 = 2.0;

/// What a pond has of that which its own duties count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// Water surface over what settles, m².
    pub settling_m2: f64,
    /// Water over the sludge that is sure to be there, m³.
    pub stays_m3: f64,
    /// Sludge store, m³; none where no clean-out is asked for.
    pub sludge_m3: Option<f64>,
}

/// The rules at a site with a drained area (m²) and a design flow (m³/s), each where it can be worked out, held against the
/// same water that the duties count.
pub fn hand_rules(
    basin: &Basin,
    drained_m2: f64,
    peak_m3_s: f64,
    settling_m_s: f64,
    counted: Counted,
) -> Vec<HandRule> {
    let Counted { settling_m2: area, stays_m3, sludge_m3 } = counted;
    let capacity = basin.capacity_m3();
    let mut rules = Vec::new();
    if drained_m2 > 0.0 {
        let drained = Area::new::<square_meter>(drained_m2);
        for (rule, rate, has) in [
            ("3,600 ft³ of basin for each acre drained", BASIN_RULE_FT3_PER_ACRE, Some(capacity)),
            (
                "900 ft³ of that for sediment, for each acre disturbed (taken as drained)",
                SEDIMENT_RULE_FT3_PER_ACRE,
                // That is the sludge store, not the whole pond.
                sludge_m3,
            ),
        ] {
            let Some(has) = has else { continue };
            rules.push(HandRule {
                rule,
                asks: Asks::Volume(volume_by_rule(drained, rate).value.get::<cubic_meter>()),
                has,
                source: "USDA NRCS practice standard 350; EPA construction general permit",
                standing: Standing::FromMemory,
            });
        }
    }
    if peak_m3_s > 0.0 {
        let cfs = peak_m3_s / CUBIC_FOOT_M3;
        rules.push(HandRule {
            rule: "435 ft² of water for each ft³/s of the ten-year peak (here: of the design flow)",
            asks: Asks::Area(FT2_PER_CFS * cfs * SQUARE_FOOT_M2),
            has: area,
            source: "Wake County (North Carolina) sediment basin design sheet",
            standing: Standing::Seen,
        });
        rules.push(HandRule {
            rule: "at most 5.66 ft³/s for each acre of water, for a permanent pool",
            asks: Asks::Area(cfs / MOST_CFS_PER_ACRE * ACRE_M2),
            has: area,
            source: "Minnesota construction stormwater permit, in a city's copy",
            standing: Standing::Seen,
        });
        rules.push(HandRule {
            rule: "4 h of detention at the design flow, for settling before water treatment",
            asks: Asks::Volume(peak_m3_s * DETENTION_H * 3600.0),
            has: stays_m3,
            source: "15A NCAC 18C .0706",
            standing: Standing::Seen,
        });
        if settling_m_s > 0.0 {
            for (rule, factor) in [
                ("1.2 times flow over settling velocity of the particle named", 1.2),
                ("2 times flow over settling velocity of the particle named", 2.0),
            ] {
                let asked = area_by_rule(
                    VolumeRate::new::<cubic_meter_per_second>(peak_m3_s),
                    Velocity::new::<meter_per_second>(settling_m_s),
                    Ratio::new::<ratio>(factor),
                );
                rules.push(HandRule {
                    rule,
                    asks: Asks::Area(asked.value.get::<square_meter>()),
                    has: area,
                    source: "sediment-trap rules of agencies in the western United States",
                    standing: Standing::FromMemory,
                });
            }
        }
    }
    rules.push(HandRule {
        rule: "at least twice as long as wide",
        asks: Asks::LengthToWidth(LENGTH_TO_WIDTH),
        has: basin.length_m / basin.width_m,
        source: "Florida erosion and sediment control inspector's manual, plate 4.26a",
        standing: Standing::Seen,
    });
    rules
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn each_hand_rule_comes_to_what_its_words_say() {
        let basin =
            Basin { length_m: 40.0, width_m: 16.0, depth_m: 2.0, slope: 2.0, freeboard_m: 0.3, bank_m: 0.0, lie: None };
        let counted = Counted { settling_m2: 300.0, stays_m3: 120.0, sludge_m3: Some(77.0) };
        // 10 acres, 2 ft³/s, 1 mm/s.
        let rules = hand_rules(&basin, 10.0 * ACRE_M2, 2.0 * CUBIC_FOOT_M3, 1e-3, counted);
        let asked: Vec<f64> = rules
            .iter()
            .map(|rule| match rule.asks {
                Asks::Volume(value) | Asks::Area(value) | Asks::LengthToWidth(value) => value,
            })
            .collect();
        assert_relative_eq!(asked[0], 36_000.0 * CUBIC_FOOT_M3, max_relative = 1e-6);
        assert_relative_eq!(asked[1], 9_000.0 * CUBIC_FOOT_M3, max_relative = 1e-6);
        assert_relative_eq!(asked[2], 870.0 * SQUARE_FOOT_M2, max_relative = 1e-9);
        assert_relative_eq!(asked[3], 2.0 / 5.66 * ACRE_M2, max_relative = 1e-9);
        assert_relative_eq!(asked[4], 2.0 * CUBIC_FOOT_M3 * 14_400.0, max_relative = 1e-9);
        assert_relative_eq!(asked[5], 1.2 * 2.0 * CUBIC_FOOT_M3 / 1e-3, max_relative = 1e-9);
        assert_relative_eq!(rules.last().unwrap().has, 2.5);
        // The rule of sediment is held against the sludge store, that of the basin against all of it.
        assert_relative_eq!(rules[0].has, basin.capacity_m3());
        assert_relative_eq!(rules[1].has, 77.0);
        // Flow and settling are held against the water that is counted on, not against the whole pond.
        let has: Vec<f64> = rules[2..7].iter().map(|rule| rule.has).collect();
        assert_eq!(has, [300.0, 300.0, 120.0, 300.0, 300.0]);
    }
}
