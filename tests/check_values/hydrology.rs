//! Rows on runoff, evaporation and leaching.

use super::row::{FOOT, GALLON, Row};
use bywash::science::hydrology;
use bywash::science::hydrology::*;
use uom::si::area::square_meter;
use uom::si::f64::{Area, HeatFluxDensity, Length, Pressure, Ratio, Velocity, Volume};
use uom::si::heat_flux_density::watt_per_square_meter;
use uom::si::length::{meter, millimeter};
use uom::si::pressure::kilopascal;
use uom::si::ratio::{percent, ratio};
use uom::si::time::{hour, minute};
use uom::si::velocity::meter_per_second;
use uom::si::volume::{cubic_meter, liter};

fn curve_number(row: &Row, key: &str) -> CurveNumber {
    CurveNumber::new(row.number(key)).expect("a curve number")
}

fn radiation(row: &Row, key: &str) -> HeatFluxDensity {
    to_radiation(row.number(key))
}

fn megajoules(radiation: HeatFluxDensity) -> f64 {
    radiation.get::<watt_per_square_meter>() * 0.0864
}

/// kPa per degree.
fn slope(slope: PressureSlope) -> f64 {
    slope.value / 1e3
}

fn slope_in(row: &Row, key: &str) -> PressureSlope {
    // The base unit is Pa/K.
    Pressure::new::<kilopascal>(row.number(key))
        / uom::si::f64::TemperatureInterval::new::<uom::si::temperature_interval::kelvin>(1.0)
}

fn humidity(row: &Row) -> Humidity {
    if row.has("ea") {
        Humidity::VapourPressure(row.pressure("ea"))
    } else if row.has("RHmax") && row.has("RHmin") {
        Humidity::HighestAndLowest { highest: row.share("RHmax"), lowest: row.share("RHmin") }
    } else if row.has("RHmax") {
        Humidity::Highest(row.share("RHmax"))
    } else {
        Humidity::Mean(row.share("RHmean"))
    }
}

fn day(row: &Row) -> DayWeather {
    let wind_2m =
        if row.has("u2") { row.velocity("u2") } else { wind_at_2m(row.velocity("uz"), row.length("zw")).value };
    DayWeather {
        highest: row.temperature("Tmax"),
        lowest: row.temperature("Tmin"),
        humidity: humidity(row),
        wind_2m,
        solar: radiation(row, "Rs"),
        elevation: row.length("z"),
        latitude: row.angle("lat"),
        day_of_year: row.whole("J"),
    }
}

fn pan_site(row: &Row, fetch: Fetch) -> PanSite {
    PanSite { fetch, distance: row.length("FET"), wind_2m: row.velocity("u2"), humidity: row.share("RHmean") }
}

/// `green fetch 10 m, wind <2 m/s, RH >70 %`: a wind and a humidity in the middle of the cell named.
fn pan_cell(row: &Row) -> PanSite {
    let words: Vec<&str> = row.text("case").split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let after = |name: &str| words[words.iter().position(|word| *word == name).expect(name) + 1];
    let wind = match after("wind") {
        "<2" => 1.0,
        "2-5" => 3.0,
        "5-8" => 6.0,
        ">8" => 9.0,
        other => panic!("{}: wind {other}", row.id),
    };
    let damp = match after("RH") {
        "<40" => 30.0,
        "40-70" => 55.0,
        ">70" => 80.0,
        other => panic!("{}: humidity {other}", row.id),
    };
    PanSite {
        fetch: if words[0] == "green" { Fetch::Green } else { Fetch::Dry },
        distance: Length::new::<meter>(after("fetch").parse().expect("a fetch")),
        wind_2m: Velocity::new::<meter_per_second>(wind),
        humidity: Ratio::new::<percent>(damp),
    }
}

pub fn value(row: &Row) -> Option<f64> {
    runoff(row).or_else(|| evaporation(row)).or_else(|| leaching(row))
}

fn runoff(row: &Row) -> Option<f64> {
    Some(match row.quantity.as_str() {
        "cn_runoff_depth" => {
            let scale = row.length("scale");
            assert!((scale.get::<meter>() - 25.4).abs() < 1e-9, "S is 1000/CN − 10 in = 25400/CN − 254 mm");
            row.length_out(runoff_depth(row.length("P"), curve_number(row, "CN"), row.share("lambda")).value)
        }
        "cn_initial_abstraction" => {
            row.length_out(initial_abstraction(curve_number(row, "CN"), Ratio::new::<ratio>(0.2)))
        }
        "cn_runoff_depth_lambda005" => {
            row.length_out(runoff_depth_lambda_005(row.length("P"), curve_number(row, "CN")).value)
        }
        "cn_composite" => {
            let parts: Vec<_> = row
                .list("CN")
                .into_iter()
                .zip(row.list("area"))
                .map(|(cn, area)| (CurveNumber::new(cn).expect("a curve number"), Area::new::<square_meter>(area)))
                .collect();
            composite(&parts, Rounding::NearestWhole).expect("area").get()
        }
        "cn_wet_table" => antecedent_by_table(curve_number(row, "CN2"), Antecedent::Wet).value.get(),
        "cn_dry_table" => antecedent_by_table(curve_number(row, "CN2"), Antecedent::Dry).value.get(),
        "cn_wet_formula" => antecedent_by_formula(curve_number(row, "CN2"), Antecedent::Wet).value.get(),
        "cn_dry_formula" => antecedent_by_formula(curve_number(row, "CN2"), Antecedent::Dry).value.get(),
        "runoff_coefficient_rv" => runoff_ratio_rv(row.share("I")).value.get::<ratio>(),
        "water_quality_volume" => {
            row.volume_out(water_quality_volume(row.length("P"), row.share("I"), row.area("A")).value)
        }
        "depth_on_area_gal" | "first_flush_volume_gal" => {
            row.volume_out(volume_from_depth(row.length("P"), row.area("A")))
        }
        "roof_capture_gal" => {
            let none = Length::new::<meter>(0.0);
            let depth = runoff_by_coefficient(row.length("P"), Ratio::new::<ratio>(1.0), none).value;
            row.volume_out(volume_from_depth(depth, row.area("A")))
        }
        "drawdown_area_depth" => {
            let volume = Volume::new::<cubic_meter>(row.number("V") * GALLON);
            let depth = depth_from_volume(volume, row.area("A")).value;
            depth.get::<meter>() * FOOT * FOOT / GALLON
        }
        _ => return None,
    })
}

fn evaporation(row: &Row) -> Option<f64> {
    Some(match row.quantity.as_str() {
        "atmospheric_pressure" => atmospheric_pressure(row.length("z")).value.get::<kilopascal>(),
        "psychrometric_constant" => slope(psychrometric_constant(row.pressure("P")).value),
        "saturation_vapour_pressure" => saturation_vapour_pressure(row.temperature("T")).value.get::<kilopascal>(),
        "slope_svp" => slope(slope_vapour_pressure(row.temperature("T")).value),
        "actual_vp_rhmaxmin" | "actual_vp_rhmean" | "actual_vp_rhmax" => {
            actual_vapour_pressure(row.temperature("Tmax"), row.temperature("Tmin"), humidity(row))
                .value
                .get::<kilopascal>()
        }
        "extraterrestrial_radiation" => megajoules(extraterrestrial_radiation(row.angle("lat"), row.whole("J")).value),
        "daylight_hours" => daylight(row.angle("lat"), row.whole("J")).value.get::<hour>(),
        "solar_radiation_hargreaves" => megajoules(
            solar_radiation_hargreaves(
                row.temperature("Tmax"),
                row.temperature("Tmin"),
                radiation(row, "Ra"),
                row.number("kRs"),
            )
            .value,
        ),
        "clear_sky_radiation" => megajoules(clear_sky_radiation(row.length("z"), radiation(row, "Ra")).value),
        "net_shortwave" => megajoules(net_shortwave(radiation(row, "Rs"), row.share("albedo")).value),
        "net_longwave" => megajoules(
            net_longwave(
                row.temperature("Tmax"),
                row.temperature("Tmin"),
                row.pressure("ea"),
                radiation(row, "Rs"),
                radiation(row, "Rso"),
            )
            .value,
        ),
        "soil_heat_flux_monthly" => {
            if row.has("Tnext") {
                megajoules(soil_heat_flux_month(row.temperature("Tprev"), row.temperature("Tnext")).value)
            } else {
                megajoules(soil_heat_flux_month_so_far(row.temperature("Tprev"), row.temperature("Tcur")).value)
            }
        }
        "wind_2m" => wind_at_2m(row.velocity("uz"), row.length("z")).value.get::<meter_per_second>(),
        "et0_penman_monteith_terms" => {
            let terms = PenmanMonteithTerms {
                temperature: row.temperature("T"),
                wind_2m: row.velocity("u2"),
                saturation: row.pressure("es"),
                vapour: row.pressure("ea"),
                slope: slope_in(row, "Delta"),
                psychrometric: slope_in(row, "gamma"),
                net_radiation: radiation(row, "Rn"),
                soil_heat: radiation(row, "G"),
            };
            row.length_out(penman_monteith_terms(&terms).value)
        }
        "et0_penman_monteith_daily" => row.length_out(penman_monteith_daily(&day(row)).value),
        "et0_asce_daily" => row.length_out(asce_reference(&day(row), ReferenceSurface::Short).value),
        "et0_hargreaves" => {
            let depth = hydrology::hargreaves(
                row.temperature("Tmax"),
                row.temperature("Tmin"),
                row.angle("lat"),
                row.whole("J"),
            );
            row.length_out(depth.value)
        }
        "pan_coefficient_classA_green" => pan_coefficient(&pan_site(row, Fetch::Green)).value.get::<ratio>(),
        "pan_coefficient_classA_dry" => pan_coefficient(&pan_site(row, Fetch::Dry)).value.get::<ratio>(),
        "pan_coefficient_classA_table" => pan_coefficient_table(&pan_cell(row)).value.get::<ratio>(),
        "et0_pan" => {
            let readings = row.list("Epan");
            let mean = readings.iter().sum::<f64>() / readings.len() as f64;
            row.length_out(pan_evaporation(Length::new::<millimeter>(mean), row.share("Kp")).value)
        }
        "open_water_et" => {
            let reference = Length::new::<millimeter>(row.number("ET0"));
            row.length_out(open_water_from_reference(reference, row.share("Kc")).value)
        }
        _ => return None,
    })
}

fn leaching(row: &Row) -> Option<f64> {
    let volume = |key: &str| Volume::new::<liter>(row.number(key));
    Some(match row.quantity.as_str() {
        "leaching_fraction_target_max" => GREATEST_TARGET_LEACHING_FRACTION,
        "leaching_fraction" => leaching_fraction(volume("leachate"), volume("applied")).value.get::<ratio>(),
        "irrigation_for_target_lf" => {
            irrigation_for_leaching_fraction(volume("retained"), row.share("LF")).value.get::<liter>()
        }
        "runtime_for_target_lf" => {
            run_time_for_leaching_fraction(row.time("runtime"), row.share("LF"), row.share("LF_target"))
                .value
                .get::<minute>()
        }
        _ => return None,
    })
}
