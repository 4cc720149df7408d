//! Rows on settling basins.

use super::row::{ACRE, FOOT, POUND, Row};
use super::water_and_settling::{grain, water};
use bywash::science::particles::stokes;
use bywash::science::ponds;
use bywash::science::ponds::Basin;
use uom::si::area::square_meter;
use uom::si::f64::{Length, Mass, Ratio, ReciprocalLength};
use uom::si::length::meter;
use uom::si::mass::kilogram;
use uom::si::ratio::ratio;
use uom::si::reciprocal_length::reciprocal_meter;
use uom::si::velocity::meter_per_second;

fn basin(row: &Row) -> Basin {
    Basin { area: row.area("A"), flow: row.flow("Q") }
}

/// Capacity over yearly inflow; the table writes the years of inflow.
fn capacity_over_inflow(row: &Row) -> Ratio {
    Ratio::new::<ratio>(row.number("CI"))
}

pub fn value(row: &Row) -> Option<f64> {
    let share = match row.quantity.as_str() {
        "removal_hazen_ideal_stokes" => {
            let velocity = stokes(grain(row), water(row), row.gravity()).value;
            ponds::hazen(basin(row), velocity).value
        }
        "removal_hazen_ideal" => ponds::hazen(basin(row), row.velocity("vs")).value,
        "removal_tanks_in_series" => ponds::tanks_in_series(basin(row), row.velocity("vs"), row.whole("n")).value,
        "removal_exponential" => ponds::exponential(basin(row), row.velocity("vs")).value,
        "removal_quiescent" => ponds::quiescent(row.velocity("vs"), row.time("t"), row.length("h")).value,
        "trap_efficiency_gill_median" => ponds::brune_gill(capacity_over_inflow(row)).value,
        "trap_efficiency_dendy" => ponds::brune_dendy(capacity_over_inflow(row)).value,
        "trap_efficiency_heinemann" => ponds::heinemann(capacity_over_inflow(row)).value,
        "trap_efficiency_brown" => {
            // A square mile is 640 acres.
            let k = ReciprocalLength::new::<reciprocal_meter>(row.number("K") * 640.0 / FOOT);
            let depth = Length::new::<meter>(row.number("C_over_W") * FOOT / 640.0);
            ponds::brown(k, depth).value
        }
        "basin_trap_efficiency_design" => Ratio::new::<ratio>(ponds::DESIGN_TRAP_EFFICIENCY),
        "basin_storage_multiplier" => Ratio::new::<ratio>(ponds::STORAGE_MULTIPLIER),
        "overflow_rate" => {
            return Some(ponds::overflow_rate(basin(row)).value.get::<meter_per_second>());
        }
        "basin_area_sizing" => {
            let area = ponds::area_by_rule(row.flow("Q"), row.velocity("vs"), row.share("factor")).value;
            return Some(area.get::<square_meter>() / (FOOT * FOOT));
        }
        "basin_volume_rule" => {
            let volume = ponds::volume_by_rule(row.area("drainage_area"), ponds::BASIN_RULE_FT3_PER_ACRE);
            return Some(row.volume_out(volume.value));
        }
        "basin_sediment_storage_rule" => {
            let volume = ponds::volume_by_rule(row.area("drainage_area"), ponds::SEDIMENT_RULE_FT3_PER_ACRE);
            return Some(row.volume_out(volume.value));
        }
        "sediment_volume_per_ton" => {
            let ton = Mass::new::<kilogram>(2000.0 * POUND);
            assert!(row.number("per") == 1.0 || (ACRE - row.number("per") * FOOT * FOOT).abs() < 1e-9);
            return Some(row.volume_out(ponds::sediment_volume(ton, row.density("unit_weight")).value));
        }
        _ => return None,
    };
    Some(share.get::<ratio>())
}
