//! Worked examples from published texts, from their inputs to their printed results, each through every function that
//! it needs. A value that we computed ourselves by other means is named as such.

#![cfg(test)]

#[path = "check_values/dataset.rs"]
#[allow(dead_code)]
mod dataset;
#[path = "check_values/row.rs"]
#[allow(dead_code)]
mod row;

use bywash::quantity::Range;
use bywash::science::hydraulics::{backwash_flow, backwash_volume, gallons_per_minute_per_square_foot};
use bywash::science::hydrology::{
    Angstrom, CurveNumber, DayWeather, Humidity, PenmanWind, RainReading, actual_vapour_pressure, atmospheric_pressure,
    clear_sky_radiation, daylight, extraterrestrial_radiation, largest_depth, net_longwave, penman_monteith_daily,
    penman_open_water, psychrometric_constant, runoff_by_coefficient, runoff_depth, saturation_vapour_pressure,
    slope_vapour_pressure, solar_radiation_sunshine, volume_from_depth,
};
use bywash::science::ponds::{brune_dendy, brune_gill};
use row::{ACRE, FOOT, GALLON};
use uom::si::angle::degree;
use uom::si::area::{hectare, square_meter};
use uom::si::f64::{
    Angle, Area, HeatFluxDensity, Length, Pressure, Ratio, ThermodynamicTemperature, Time, Velocity, Volume,
};
use uom::si::heat_flux_density::watt_per_square_meter;
use uom::si::length::{meter, millimeter};
use uom::si::pressure::kilopascal;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::{day, hour, minute};
use uom::si::velocity::meter_per_second;
use uom::si::volume::{cubic_meter, liter};
use uom::si::volume_rate::cubic_meter_per_second;

/// UFC 3-280-04 (17 Dec 2003), appendix B, B-7 to B-9 (seen): a pressure filter of 48 in diameter, 15 gpm/ft² for
/// 10 minutes, two washes a day. Printed: 1,885 gal a wash and 3,770 gal a day; 7,140 L and 14,280 L; with 30 minutes of
/// the wells' 30 gpm beside it, an equalisation tank of 4,670 gal.
#[test]
fn wash_water_of_a_bed_for_a_day_is_what_the_handbook_prints() {
    let gallons = |volume: Volume| volume.get::<cubic_meter>() / GALLON;
    let area = Area::new::<square_meter>(12.57 * FOOT * FOOT);
    let ten_minutes = Time::new::<minute>(10.0);
    let rate = gallons_per_minute_per_square_foot(15.0);
    let wash = backwash_volume(rate, area, ten_minutes);
    assert!(wash.within);
    // The text cuts 1,885.5 to 1,885 and twice that to 3,770.
    assert!((gallons(wash.value) - 1885.0).abs() < 1.0);
    let wash_water_of_a_day = wash.value * 2.0;
    assert!((gallons(wash_water_of_a_day) - 3770.0).abs() < 2.0);
    let wells = Volume::new::<cubic_meter>(30.0 * 30.0 * GALLON);
    assert!((gallons(wells + wash_water_of_a_day) - 4670.0).abs() < 2.0);

    // The metric line of the text: 10.17 L/(m²·s) on 1.17 m² for 10 minutes, printed to the nearest 10 L.
    let metric_rate = Velocity::new::<meter_per_second>(10.17e-3);
    let metric = backwash_volume(metric_rate, Area::new::<square_meter>(1.17), ten_minutes).value;
    assert!((metric.get::<liter>() - 7140.0).abs() < 5.0);
    assert!((metric.get::<liter>() * 2.0 - 14_280.0).abs() < 5.0);
    // One rate in two systems: 15 gpm/ft² is 10.186 L/(m²·s); the text prints 10.17.
    assert!((rate / metric_rate).get::<ratio>() - 1.0 < 0.002);
}

/// Davis, Water and Wastewater Engineering, Example 11-7 (seen): 36 m/h on a filter of 5.2 m by 5.5 m. Printed:
/// 0.286 m³/s. What a wash pump or a drain must carry while it runs, whatever the day's volume.
#[test]
fn the_flow_of_a_wash_while_it_runs_is_what_the_textbook_prints() {
    let rate = Velocity::new::<meter_per_second>(36.0 / 3600.0);
    let flow = backwash_flow(rate, Area::new::<square_meter>(5.2 * 5.5)).value;
    assert!((flow.get::<cubic_meter_per_second>() - 0.286).abs() < 0.0005);
}

/// NAVFAC DM-7.1, p. 7.1-303 (seen): a sediment pond with a yearly inflow of 400 acre-ft is to trap 70 %. The text reads
/// capacity over inflow 0.032 off Brune's median curve. Printed: capacity 12.8 acre-ft.
#[test]
fn the_trap_efficiency_of_a_pond_is_what_the_design_manual_reads_off_the_curve() {
    let acre_feet = |volume: Volume| volume.get::<cubic_meter>() / (ACRE * FOOT);
    let yearly_inflow = Volume::new::<cubic_meter>(400.0 * ACRE * FOOT);
    let capacity = yearly_inflow * 0.032;
    assert!((acre_feet(capacity) - 12.8).abs() < 1e-9);
    // Two closed forms of the curve, on either side of what the eye reads.
    let gill = brune_gill(capacity / yearly_inflow);
    let dendy = brune_dendy(capacity / yearly_inflow);
    assert!(gill.within && dendy.within);
    assert!((gill.value.get::<ratio>() - 0.70).abs() < 0.02, "{}", gill.value.get::<ratio>());
    assert!((dendy.value.get::<ratio>() - 0.70).abs() < 0.02, "{}", dendy.value.get::<ratio>());
    assert!(dendy.value < gill.value);
}

/// McMahon and others (2013), Hydrol. Earth Syst. Sci. 17:1331-1363, supplement S19, worked examples 1, 3 and 9 (values
/// seen as quoted in a public notebook): Alice Springs, 20 July 1980. Its net long-wave figure adds 273.2 where the
/// equation of FAO-56 adds 273.16, hence its tolerance and that of what rests on it.
#[test]
fn evaporation_of_open_water_is_what_the_worked_example_prints_step_by_step() {
    let celsius = ThermodynamicTemperature::new::<degree_celsius>;
    let (highest, lowest) = (celsius(21.0), celsius(2.0));
    let latitude = Angle::new::<degree>(-23.7951);
    let elevation = Length::new::<meter>(546.0);
    let humidity = Humidity::HighestAndLowest { highest: Ratio::new::<ratio>(0.71), lowest: Ratio::new::<ratio>(0.25) };
    let megajoules = |flux: HeatFluxDensity| flux.get::<watt_per_square_meter>() * 0.0864;
    let close = |what: &str, value: f64, printed: f64, allowed: f64| {
        assert!((value - printed).abs() <= allowed, "{what}: {value}, printed {printed}");
    };
    let kpa = |pressure: Pressure| pressure.get::<kilopascal>();
    close("e(Tmax)", kpa(saturation_vapour_pressure(highest).value), 2.4870, 1e-4);
    close("e(Tmin)", kpa(saturation_vapour_pressure(lowest).value), 0.7056, 1e-4);
    close("slope", slope_vapour_pressure(celsius(11.5)).value.value / 1e3, 0.0898, 5e-5);
    let pressure = atmospheric_pressure(elevation).value;
    close("pressure", kpa(pressure), 95.010_27, 1e-5);
    close("psychrometric", psychrometric_constant(pressure).value.value / 1e3, 0.0632, 5e-5);
    let day_length = daylight(latitude, 202).value;
    close("daylight", day_length.get::<hour>(), 10.7431, 5e-5);
    let above = extraterrestrial_radiation(latitude, 202).value;
    close("Ra", megajoules(above), 23.6182, 5e-5);
    let clear = clear_sky_radiation(elevation, above).value;
    close("Rso", megajoules(clear), 17.9716, 5e-5);
    let constants = Angstrom { overcast: 0.23, clear: 0.5 };
    let solar = solar_radiation_sunshine(Time::new::<hour>(10.7), day_length, above, constants).value;
    close("Rs", megajoules(solar), 17.1940, 1e-3);
    let vapour = actual_vapour_pressure(highest, lowest, humidity).value;
    close("Rnl", megajoules(net_longwave(highest, lowest, vapour, solar, clear).value), 7.1784, 0.006);
    let weather = DayWeather {
        highest,
        lowest,
        humidity,
        wind_2m: Velocity::new::<meter_per_second>(0.5903),
        solar,
        elevation,
        latitude,
        day_of_year: 202,
    };
    let open_water = penman_open_water(&weather, PenmanWind::Of1956);
    assert!(open_water.within);
    close("open water", open_water.value.get::<millimeter>(), 2.9797, 0.0015);
    let reference = penman_monteith_daily(&weather);
    close("reference", reference.value.get::<millimeter>(), 2.0775, 0.0015);
}

/// November 2012 of the open weather file. The expected totals were computed apart from this program, with exact
/// fractions in Python over the same thirty days: S = 25400/CN − 254, Q = (P − 0.2 S)²/(P + 0.8 S) day by day; 0.9 of
/// what each day brings above 1 mm; greatest single and paired readings.
#[test]
fn a_months_runoff_from_daily_rain_adds_up_to_what_an_independent_sum_gives() {
    let month: Vec<Length> = dataset::days("daily-weather.csv")
        .iter()
        .filter(|entry| entry.date.starts_with("2012-11"))
        .map(|entry| Length::new::<millimeter>(entry.rain_mm))
        .collect();
    assert_eq!(month.len(), 30);
    let total = |depths: Vec<Length>| depths.iter().map(|depth| depth.get::<millimeter>()).sum::<f64>();
    assert!((total(month.clone()) - 210.5).abs() < 1e-9);

    let by_curve_number = |figure: f64| -> Vec<Length> {
        let cn = CurveNumber::new(figure).expect("a curve number");
        month.iter().map(|rain| runoff_depth(*rain, cn, Ratio::new::<ratio>(0.2)).value).collect()
    };
    let wet_days = |depths: &[Length]| depths.iter().filter(|depth| depth.get::<millimeter>() > 0.0).count();
    let roof_like = by_curve_number(98.0);
    assert_eq!(wet_days(&roof_like), 16);
    assert!((total(roof_like) - 146.415_418_742_098_2).abs() < 1e-9);
    let yard = by_curve_number(85.0);
    assert_eq!(wet_days(&yard), 6);
    assert!((total(yard) - 41.272_834_607_460_84).abs() < 1e-9);

    let first_loss = Length::new::<millimeter>(1.0);
    let roof: Vec<Length> =
        month.iter().map(|rain| runoff_by_coefficient(*rain, Ratio::new::<ratio>(0.9), first_loss).value).collect();
    let roof_area = Area::new::<hectare>(0.35);
    let volume: f64 = roof.iter().map(|depth| volume_from_depth(*depth, roof_area).get::<cubic_meter>()).sum();
    assert!((total(roof) - 172.89).abs() < 1e-9);
    assert!((volume - 605.115).abs() < 1e-9);

    // 18 November 7.9 mm and 19 November 54.1 mm: the most in any 24 h lies between one reading and both.
    let readings: Vec<RainReading> = (0u32..)
        .zip(&month)
        .map(|(index, rain)| RainReading {
            from: Time::new::<day>(f64::from(index)),
            to: Time::new::<day>(f64::from(index + 1)),
            depth: Some(Range::exactly(*rain)),
        })
        .collect();
    let storm = largest_depth(&readings, Time::new::<hour>(24.0)).expect("readings in order");
    assert!((storm.depth.low.get::<millimeter>() - 54.1).abs() < 1e-9);
    assert!((storm.depth.high.get::<millimeter>() - 62.0).abs() < 1e-9);
    assert!((storm.low_span.0.get::<day>() - 18.0).abs() < 1e-9);
    assert!((storm.high_span.0.get::<day>() - 17.0).abs() < 1e-9);
}
