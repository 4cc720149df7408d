//! Rows on water and on settling velocity.

use super::row::Row;
use bywash::science::particles::{
    DragLaw, FergusonChurch, Grain, ShapedGrain, by_drag_law, ferguson_church, grain_reynolds, newton_one_step, stokes,
};
use bywash::science::water;
use bywash::science::water::Water;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::{DynamicViscosity, MassDensity};
use uom::si::kinematic_viscosity::square_meter_per_second;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::velocity::meter_per_second;

pub fn grain(row: &Row) -> Grain {
    Grain { diameter: row.length("d"), density: row.density("rho_p") }
}

pub fn water(row: &Row) -> Water {
    Water { density: row.density("rho"), viscosity: row.viscosity("mu") }
}

fn law(row: &Row) -> DragLaw {
    match row.text("method") {
        "stokes" => DragLaw::Stokes,
        "schiller_naumann" => DragLaw::SchillerNaumann,
        "clift" => DragLaw::Clift,
        "clift_gauvin" => DragLaw::CliftGauvin,
        "barati" => DragLaw::Barati,
        "haider_levenspiel" => DragLaw::HaiderLevenspiel,
        "fair_geyer" | "rouse" => DragLaw::FairGeyer,
        other => panic!("{}: drag law `{other}`", row.id),
    }
}

fn shaped(row: &Row) -> ShapedGrain {
    let density =
        if row.has("rho_p") { row.density("rho_p") } else { MassDensity::new::<kilogram_per_cubic_meter>(2650.0) };
    ShapedGrain { grain: Grain { diameter: row.length("d"), density }, shape: row.share("phi") }
}

pub fn value(row: &Row) -> Option<f64> {
    Some(match row.quantity.as_str() {
        "water_density" => water::density(row.temperature("T")).value.get::<kilogram_per_cubic_meter>(),
        "water_dynamic_viscosity" => water::dynamic_viscosity(row.temperature("T")).value.get::<pascal_second>(),
        "water_kinematic_viscosity" => {
            water::kinematic_viscosity(row.temperature("T")).value.get::<square_meter_per_second>()
        }
        "viscosity_iapws_r12_08" => {
            water::viscosity_iapws(row.density("rho"), row.temperature("T_K")).value.get::<pascal_second>()
        }
        "water_viscosity_vogel" => water::viscosity_vogel(row.temperature("T")).value.get::<pascal_second>(),
        "settling_velocity_stokes" => stokes(grain(row), water(row), row.gravity()).value.get::<meter_per_second>(),
        "settling_velocity_drag" => {
            by_drag_law(law(row), grain(row), water(row), row.gravity()).value.get::<meter_per_second>()
        }
        "drag_coefficient_sphere" => law(row).coefficient(row.share("Re")).value.get::<ratio>(),
        "settling_velocity_ferguson_church" => {
            let constants = FergusonChurch { viscous: row.number("C1"), drag: row.number("C2") };
            ferguson_church(row.length("d"), row.share("R"), row.kinematic("nu"), row.gravity(), constants)
                .value
                .get::<meter_per_second>()
        }
        "settling_velocity_newton_one_step" => {
            let density = row.density("rho");
            let viscosity =
                row.kinematic("nu").get::<square_meter_per_second>() * density.get::<kilogram_per_cubic_meter>();
            let water = Water { density, viscosity: DynamicViscosity::new::<pascal_second>(viscosity) };
            newton_one_step(shaped(row), row.velocity("v_est"), water, row.gravity()).value.get::<meter_per_second>()
        }
        "settling_reynolds" => grain_reynolds(shaped(row), row.velocity("v"), row.kinematic("nu")).get::<ratio>(),
        "drag_fair_geyer_one_step" => {
            let reynolds = grain_reynolds(shaped(row), row.velocity("v"), row.kinematic("nu"));
            DragLaw::FairGeyer.coefficient(reynolds).value.get::<ratio>()
        }
        _ => return None,
    })
}
