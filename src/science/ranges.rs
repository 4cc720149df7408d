//! Where each equation holds, as its record says in `valid_range`: at the ends of the range nothing is told, just beyond them it is, and a
//! value that is no number is told everywhere.
#![cfg(test)]

use crate::science::hydraulics::records::FRANCIS;
use crate::science::hydraulics::*;
use crate::science::hydrology::*;
use crate::science::ponds::*;
use crate::science::water::standard_gravity;
use crate::science::{Method, Ranged};
use uom::si::angle::degree;
use uom::si::area::square_meter;
use uom::si::f64::*;
use uom::si::length::{foot, inch, meter, millimeter};
use uom::si::mass::kilogram;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::pressure::kilopascal;
use uom::si::ratio::ratio;
use uom::si::reciprocal_length::reciprocal_meter;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::{hour, second};
use uom::si::velocity::meter_per_second;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

fn m(value: f64) -> Length {
    Length::new::<meter>(value)
}

fn ft(value: f64) -> Length {
    Length::new::<foot>(value)
}

fn of(value: f64) -> Ratio {
    Ratio::new::<ratio>(value)
}

fn m_s(value: f64) -> Velocity {
    Velocity::new::<meter_per_second>(value)
}

fn m3(value: f64) -> Volume {
    Volume::new::<cubic_meter>(value)
}

fn m3_s(value: f64) -> VolumeRate {
    VolumeRate::new::<cubic_meter_per_second>(value)
}

fn m2(value: f64) -> Area {
    Area::new::<square_meter>(value)
}

fn kg(value: f64) -> Mass {
    Mass::new::<kilogram>(value)
}

fn kg_m3(value: f64) -> MassDensity {
    MassDensity::new::<kilogram_per_cubic_meter>(value)
}

fn celsius(value: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(value)
}

fn hours(value: f64) -> Time {
    Time::new::<hour>(value)
}

fn cn(value: f64) -> CurveNumber {
    CurveNumber::new(value).unwrap()
}

/// What an equation answers at some inputs, held against its record.
#[track_caller]
fn holds<Q>(answers: impl IntoIterator<Item = Ranged<Q>>) -> &'static Method {
    let mut method = None;
    for (number, answer) in answers.into_iter().enumerate() {
        assert_eq!(answer.outside(), None, "{} at input {number} of those within", answer.method.name);
        method = Some(answer.method);
    }
    method.unwrap()
}

#[track_caller]
fn fails<Q>(method: &Method, answers: impl IntoIterator<Item = Ranged<Q>>) {
    for (number, answer) in answers.into_iter().enumerate() {
        assert_eq!(answer.outside(), Some(method.outside), "{} at input {number} of those outside", method.name);
    }
}

/// An equation of one value that holds from `low` to `high`, both of them within.
#[track_caller]
fn between<Q>(low: f64, high: f64, equation: impl Fn(f64) -> Ranged<Q>) {
    // Units that are turned into others lose a last digit.
    let (step, hair) = (1e-6 * (high - low), 1e-10 * (high - low));
    let method = holds([low + hair, 0.5 * (low + high), high - hair].map(&equation));
    fails(method, [low - step, high + step, f64::NAN].map(&equation));
}

/// From `low` up, which is within.
#[track_caller]
fn from<Q>(low: f64, equation: impl Fn(f64) -> Ranged<Q>) {
    let method = holds([low, low + 1.0].map(&equation));
    fails(method, [low - 1e-6, f64::NAN].map(&equation));
}

/// Above `low`, which is not.
#[track_caller]
fn above<Q>(low: f64, equation: impl Fn(f64) -> Ranged<Q>) {
    let method = holds([low + 1e-6].map(&equation));
    fails(method, [low, low - 1e-6, f64::NAN].map(&equation));
}

#[test]
fn weirs_and_an_orifice_hold_where_their_records_say() {
    let g = standard_gravity();
    // Francis: H from 0.2 ft up to a third of the crest; with two contractions at the most.
    between(0.2, 2.0, |h| francis(ft(6.0), 2, ft(h)));
    fails(&FRANCIS, [francis(ft(6.0), 3, ft(1.0))]);
    between(0.2, 1.25, |h| v_notch_90(ft(h)));
    between(0.2, 2.0, |h| v_notch_60(ft(h)));
    between(0.2, 2.0, |h| v_notch_120(ft(h)));
    let shen = |head: f64, angle: f64| kindsvater_shen(m(head), Angle::new::<degree>(angle), of(0.58), m(0.001), g);
    between(0.06, 0.382, |h| shen(h, 90.0));
    between(25.0, 100.0, |angle| shen(0.2, angle));
    let weir = |crest: f64, height: f64| RectangularWeir { crest: m(crest), height: m(height) };
    // h/h2 below 2.
    let carter = holds([kindsvater_carter(weir(0.3, 0.2), m(0.399), g)]);
    fails(carter, [kindsvater_carter(weir(0.3, 0.2), m(0.4), g), kindsvater_carter(weir(0.3, -0.2), m(0.1), g)]);
    between(0.03, 0.75, |h| rehbock(weir(1.0, 1.0), m(h), g));
    from(0.1, |p| rehbock(weir(1.0, p), m(0.05), g));
    from(0.3, |b| rehbock(weir(b, 1.0), m(0.2), g));
    from(0.2, |p| rehbock(weir(1.0, p), m(0.2), g));
    above(0.02, |h| ackers(weir(1.0, 0.5), m(h), g));
    from(0.15, |p| ackers(weir(1.0, p), m(0.1), g));
    from(0.5, |p| ackers(weir(1.0, p), m(1.1), g));
    between(2.3, 3.1, |c| broad_crested_us(c, m(2.0), m(0.1)));
    between(2.3, 3.1, |c| broad_crested_head_us(c, m(2.0), m3_s(0.1)));
    from(0.0, |q| broad_crested_head_us(2.6, m(2.0), m3_s(q)));
    from(0.0, |crest| broad_crested(m(crest), m(0.1), g));
    from(0.0, |crest| broad_crested_us(2.6, m(crest), m(0.1)));
    // H up to a half of the notch; P above 0.
    from(0.4, |crest| riser_notch(weir(crest, 0.3), m(0.2)));
    above(0.0, |p| riser_notch(weir(1.0, p), m(0.2)));
    // Head above the orifice's own radius.
    from(0.05, |h| orifice(m(0.1), of(0.6), m(h), g));
    from(0.0, |d| orifice(m(d), of(0.6), m(0.6), g));
}

#[test]
fn washing_a_bed_holds_where_its_records_say() {
    above(0.0, |re| expansion_index(of(re)));
    let zaki = holds([expanded_porosity_richardson_zaki(m_s(0.01), m_s(0.1), 3.0)]);
    fails(
        zaki,
        [(0.0, 3.0), (0.1, 3.0), (0.2, 3.0), (-0.01, 3.0), (0.01, 0.0), (0.01, -1.0)]
            .map(|(wash, index)| expanded_porosity_richardson_zaki(m_s(wash), m_s(0.1), index)),
    );
    let fair = holds([expanded_porosity_fair_geyer(m_s(0.01), m_s(0.1), of(5.0))]);
    fails(
        fair,
        [(0.0, 5.0), (0.1, 5.0), (0.2, 5.0), (0.01, 0.0), (0.01, -2.0)]
            .map(|(wash, re)| expanded_porosity_fair_geyer(m_s(wash), m_s(0.1), of(re))),
    );
    // Porosity of a packed bed 0.25 to 0.6, as in the records of head loss.
    between(0.25, 0.6, |eps| expanded_depth(m(1.0), of(eps), 2.0));
    from(1.0, |sum| expanded_depth(m(1.0), of(0.4), sum));
    // 0 < ε0 ≤ ε < 1.
    let bed = holds([bed_expansion(of(0.4), of(0.4)), bed_expansion(of(0.4), of(0.999))]);
    fails(
        bed,
        [(0.0, 0.4), (-0.1, 0.4), (0.4, 0.399), (0.4, 1.0), (1.1, 1.2), (f64::NAN, 0.5)]
            .map(|(before, after)| bed_expansion(of(before), of(after))),
    );
    from(0.0, |rate| backwash_flow(m_s(rate), m2(2.0)));
    from(0.0, |area| backwash_flow(m_s(0.01), m2(area)));
    from(0.0, |time| backwash_volume(m_s(0.01), m2(2.0), Time::new::<second>(time)));
    let membrane = holds([feed_and_reject(m3(1.0), of(1.0)), feed_and_reject(m3(0.0), of(0.5))]);
    fails(
        membrane,
        [(1.0, 0.0), (1.0, -0.1), (1.0, 1.001), (-1.0, 0.5), (1.0, f64::NAN)]
            .map(|(permeate, passes)| feed_and_reject(m3(permeate), of(passes))),
    );
}

#[test]
fn runoff_and_leaching_hold_where_their_records_say() {
    let mm = |value: f64| Length::new::<millimeter>(value);
    let number = holds([30.0, 100.0].map(|number| runoff_depth(mm(50.0), cn(number), of(0.2))));
    fails(number, [runoff_depth(mm(50.0), cn(29.9), of(0.2))]);
    from(0.0, |rain| runoff_depth(mm(rain), cn(80.0), of(0.2)));
    between(0.0, 1.0, |lambda| runoff_depth(mm(50.0), cn(80.0), of(lambda)));
    from(0.0, |rain| runoff_depth_lambda_005(mm(rain), cn(80.0)));
    let by_twentieth = holds([runoff_depth_lambda_005(mm(50.0), cn(30.0))]);
    fails(by_twentieth, [runoff_depth_lambda_005(mm(50.0), cn(29.9))]);
    between(0.0, 1.0, |share| runoff_by_coefficient(mm(20.0), of(share), mm(1.0)));
    from(0.0, |rain| runoff_by_coefficient(mm(rain), of(0.5), mm(1.0)));
    from(0.0, |loss| runoff_by_coefficient(mm(20.0), of(0.5), mm(loss)));
    between(0.0, 1.0, |share| runoff_ratio_rv(of(share)));
    between(0.0, 1.0, |share| water_quality_volume(mm(25.0), of(share), m2(100.0)));
    from(0.0, |rain| water_quality_volume(mm(rain), of(0.5), m2(100.0)));
    from(0.0, |area| water_quality_volume(mm(25.0), of(0.5), m2(area)));
    above(0.0, |area| depth_from_volume(m3(1.0), m2(area)));
    // A fraction of one is all that entered: an answer to the first, none to the others.
    between(0.0, 1.0, |share| leaching_fraction(m3(share), m3(1.0)));
    let leaching = holds([
        irrigation_for_leaching_fraction(m3(1.0), of(0.0)),
        irrigation_for_leaching_fraction(m3(1.0), of(0.999)),
    ]);
    fails(leaching, [-0.001, 1.0, 1.2, f64::NAN].map(|share| irrigation_for_leaching_fraction(m3(1.0), of(share))));
    holds([
        run_time_for_leaching_fraction(hours(1.0), of(0.0), of(0.0)),
        run_time_for_leaching_fraction(hours(1.0), of(0.9), of(0.15)),
    ]);
    fails(
        leaching,
        [(-0.1, 0.1), (1.0, 0.1), (0.3, -0.1), (0.3, 1.0), (f64::NAN, 0.1)]
            .map(|(now, target)| run_time_for_leaching_fraction(hours(1.0), of(now), of(target))),
    );
    // Ground before a storm: CN II 5 to 100 by table, 30 to 100 by formula.
    for ground in [Antecedent::Dry, Antecedent::Average, Antecedent::Wet] {
        let table = holds([antecedent_by_table(cn(5.0), ground), antecedent_by_table(cn(100.0), ground)]);
        fails(table, [antecedent_by_table(cn(4.9), ground)]);
        let formula = holds([antecedent_by_formula(cn(30.0), ground), antecedent_by_formula(cn(100.0), ground)]);
        fails(formula, [antecedent_by_formula(cn(29.9), ground)]);
    }
    // The peak: CN 40 and over, Tc 0.1 to 10 h, Ia/P 0.1 to 0.5. CN 80 has S = 2.5 inches and Ia = 0.5, so P is 1 to 5 inches.
    let peak = |rain: f64, number: f64, tc: f64| {
        graphical_peak(Length::new::<inch>(rain), cn(number), m2(10_000.0), hours(tc), RainfallType::II)
    };
    let graphical = holds([peak(1.0001, 80.0, 0.1), peak(4.9999, 80.0, 10.0), peak(10.0, 40.0, 1.0)]);
    fails(
        graphical,
        [
            peak(0.9999, 80.0, 1.0),
            peak(5.0001, 80.0, 1.0),
            peak(3.0, 80.0, 0.0999),
            peak(3.0, 80.0, 10.001),
            peak(10.0, 39.9, 1.0),
        ],
    );
}

/// Rain of the five days before: under 1.4 inches is dry and over 2.1 wet while plants grow, 0.5 and 1.1 while they do not (the table of
/// NEH-4 as the record quotes it); the ends belong to the middle.
#[test]
fn the_ground_before_a_storm_is_told_by_five_days_of_rain() {
    let by = |inches: f64, growing| antecedent_by_rain(Length::new::<inch>(inches), growing);
    for (dry, wet, growing) in [(1.4, 2.1, true), (0.5, 1.1, false)] {
        assert_eq!(by(0.0, growing), Antecedent::Dry);
        assert_eq!(by(dry - 0.01, growing), Antecedent::Dry);
        assert_eq!(by(dry + 1e-9, growing), Antecedent::Average);
        assert_eq!(by(wet - 1e-9, growing), Antecedent::Average);
        assert_eq!(by(wet + 0.01, growing), Antecedent::Wet);
    }
}

#[test]
fn evaporation_holds_where_its_records_say() {
    let kpa = |value: f64| Pressure::new::<kilopascal>(value);
    between(-500.0, 9_000.0, |z| atmospheric_pressure(m(z)));
    above(0.0, |pressure| psychrometric_constant(kpa(pressure)));
    between(-30.0, 60.0, |t| saturation_vapour_pressure(celsius(t)));
    between(-30.0, 60.0, |t| slope_vapour_pressure(celsius(t)));
    let air = |high: f64, low: f64, humidity| actual_vapour_pressure(celsius(high), celsius(low), humidity);
    between(0.0, 1.0, |share| air(25.0, 15.0, Humidity::Mean(of(share))));
    between(0.0, 1.0, |share| air(25.0, 15.0, Humidity::Highest(of(share))));
    between(0.2, 1.0, |share| air(25.0, 15.0, Humidity::HighestAndLowest { highest: of(share), lowest: of(0.2) }));
    between(0.0, 0.8, |share| air(25.0, 15.0, Humidity::HighestAndLowest { highest: of(0.8), lowest: of(share) }));
    between(-30.0, 60.0, |t| air(25.0, 15.0, Humidity::DewPoint(celsius(t))));
    from(0.0, |pressure| air(25.0, 15.0, Humidity::VapourPressure(kpa(pressure))));
    between(15.0, 60.0, |high| air(high, 15.0, Humidity::Mean(of(0.5))));
    between(-30.0, 25.0, |low| air(25.0, low, Humidity::Mean(of(0.5))));
    between(0.5, 100.0, |z| wind_at_2m(m_s(2.0), m(z)));
    from(0.0, |wind| wind_at_2m(m_s(wind), m(10.0)));
    holds([
        soil_heat_flux_month(celsius(10.0), celsius(12.0)),
        soil_heat_flux_month_so_far(celsius(10.0), celsius(8.0)),
    ]);
    fails(
        soil_heat_flux_month(celsius(1.0), celsius(2.0)).method,
        [soil_heat_flux_month(celsius(f64::NAN), celsius(12.0))],
    );

    let latitude = |value: f64| Angle::new::<degree>(value);
    between(-90.0, 90.0, |phi| extraterrestrial_radiation(latitude(phi), 100));
    between(-90.0, 90.0, |phi| daylight(latitude(phi), 100));
    let sun = holds([1, 366].map(|day| extraterrestrial_radiation(latitude(40.0), day)));
    fails(sun, [0, 367].map(|day| extraterrestrial_radiation(latitude(40.0), day)));
    let above_air = to_radiation(30.0);
    between(0.1, 0.25, |k| solar_radiation_hargreaves(celsius(25.0), celsius(15.0), above_air, k));
    from(15.0, |high| solar_radiation_hargreaves(celsius(high), celsius(15.0), above_air, 0.16));
    between(0.0, 12.0, |sunny| solar_radiation_sunshine(hours(sunny), hours(12.0), above_air, ANGSTROM_DEFAULT));
    between(0.25, 0.65, |clear| {
        solar_radiation_sunshine(hours(6.0), hours(12.0), above_air, Angstrom { overcast: 0.25, clear })
    });
    between(-500.0, 6_000.0, |z| clear_sky_radiation(m(z), above_air));
    between(0.0, 1.0, |albedo| net_shortwave(to_radiation(20.0), of(albedo)));
    between(0.0, 22.0, |solar| {
        net_longwave(celsius(25.0), celsius(15.0), kpa(1.5), to_radiation(solar), to_radiation(22.0))
    });

    let terms = |wind: f64| PenmanMonteithTerms {
        temperature: celsius(20.0),
        wind_2m: m_s(wind),
        saturation: kpa(2.3),
        vapour: kpa(1.5),
        slope: slope_vapour_pressure(celsius(20.0)).value,
        psychrometric: psychrometric_constant(kpa(101.3)).value,
        net_radiation: to_radiation(12.0),
        soil_heat: to_radiation(0.0),
    };
    between(0.0, 15.0, |wind| penman_monteith_terms(&terms(wind)));
    let day = |wind: f64, low: f64, day_of_year: u32, solar: f64, elevation: f64, humid: f64| DayWeather {
        highest: celsius(25.0),
        lowest: celsius(low),
        humidity: Humidity::Mean(of(humid)),
        wind_2m: m_s(wind),
        solar: to_radiation(solar),
        elevation: m(elevation),
        latitude: latitude(40.0),
        day_of_year,
    };
    // Each part outside its own range, one at a time: wind, temperatures out of order, day, sun above a clear sky's, height, humidity.
    let whole = day(2.0, 15.0, 180, 20.0, 100.0, 0.5);
    let broken = [
        day(15.1, 15.0, 180, 20.0, 100.0, 0.5),
        day(2.0, 26.0, 180, 20.0, 100.0, 0.5),
        day(2.0, 15.0, 367, 20.0, 100.0, 0.5),
        day(2.0, 15.0, 180, 20.0, 6_500.0, 0.5),
        day(2.0, 15.0, 180, 20.0, 100.0, 1.1),
    ];
    let too_sunny = day(2.0, 15.0, 180, 60.0, 100.0, 0.5);
    let daily = holds([penman_monteith_daily(&whole)]);
    fails(daily, broken.iter().map(penman_monteith_daily));
    fails(daily, [penman_monteith_daily(&too_sunny)]);
    for wind in [PenmanWind::Of1948, PenmanWind::Of1956] {
        let water = holds([penman_open_water(&whole, wind)]);
        fails(water, broken.iter().map(|weather| penman_open_water(weather, wind)));
        fails(water, [penman_open_water(&too_sunny, wind)]);
    }
    for surface in [ReferenceSurface::Short, ReferenceSurface::Tall] {
        // The standard holds the sun's share at one by itself.
        let standard = holds([asce_reference(&whole, surface), asce_reference(&too_sunny, surface)]);
        fails(standard, broken.iter().map(|weather| asce_reference(weather, surface)));
        fails(standard, [asce_reference(&day(2.0, 15.0, 180, -1.0, 100.0, 0.5), surface)]);
    }
    let hot = |high: f64, low: f64, day| hargreaves(celsius(high), celsius(low), latitude(40.0), day);
    let simple = holds([hot(20.0, 20.0, 1), hot(55.0, 45.0, 366), hot(-12.7, -22.8, 10)]);
    fails(simple, [hot(20.0, 20.1, 1), hot(55.1, 45.0, 1), hot(-12.9, -22.9, 1), hot(25.0, 15.0, 0)]);
    between(0.4, 1.5, |k| open_water_from_reference(m(0.005), of(k)));
    between(0.35, 1.1, |k| pan_evaporation(m(0.005), of(k)));
    from(0.0, |pan| pan_evaporation(m(pan), of(0.7)));
    for fetch in [Fetch::Green, Fetch::Dry] {
        let site = |wind: f64, damp: f64, far: f64| PanSite {
            fetch,
            distance: m(far),
            wind_2m: m_s(wind),
            humidity: of(damp),
        };
        between(1.0, 8.0, |wind| pan_coefficient(&site(wind, 0.5, 100.0)));
        between(0.3, 0.84, |damp| pan_coefficient(&site(3.0, damp, 100.0)));
        between(1.0, 1_000.0, |far| pan_coefficient(&site(3.0, 0.5, far)));
        from(0.0, |wind| pan_coefficient_table(&site(wind, 0.5, 100.0)));
        between(0.0, 1.0, |damp| pan_coefficient_table(&site(3.0, damp, 100.0)));
        from(1.0, |far| pan_coefficient_table(&site(3.0, 0.5, far)));
    }
}

#[test]
fn ponds_hold_where_their_records_say() {
    let basin = |area: f64, flow: f64| Basin { area: m2(area), flow: m3_s(flow) };
    above(0.0, |area| overflow_rate(basin(area, 0.01)));
    type Removal = fn(Basin, Velocity) -> Ranged<Ratio>;
    for removal in [hazen as Removal, exponential, |basin, settling| tanks_in_series(basin, settling, 3)] {
        above(0.0, |flow| removal(basin(100.0, flow), m_s(1e-4)));
        from(0.0, |area| removal(basin(area, 0.01), m_s(1e-4)));
        from(0.0, |settling| removal(basin(100.0, 0.01), m_s(settling)));
    }
    let tanks = holds([1, 1000].map(|tanks| tanks_in_series(basin(100.0, 0.01), m_s(1e-4), tanks)));
    fails(tanks, [0, 1001].map(|tanks| tanks_in_series(basin(100.0, 0.01), m_s(1e-4), tanks)));
    above(0.0, |depth| quiescent(m_s(1e-5), hours(1.0), m(depth)));
    from(0.0, |time| quiescent(m_s(1e-5), hours(time), m(1.0)));
    from(0.0, |settling| quiescent(m_s(settling), hours(1.0), m(1.0)));
    between(0.002, 10.0, |x| brune_gill(of(x)));
    between(0.002, 10.0, |x| brune_dendy(of(x)));
    between(0.003, 1.0, |x| heinemann(of(x)));
    // K in square miles to the acre-foot: 640 acres of a foot each, 640/0.3048 to the metre.
    let printed = |k: f64| ReciprocalLength::new::<reciprocal_meter>(k * 640.0 / 0.3048);
    between(0.046, 1.0, |k| brown(printed(k), m(0.1)));
    from(0.0, |depth| brown(printed(0.1), m(depth)));
    from(1.0, |factor| area_by_rule(m3_s(0.01), m_s(1e-4), of(factor)));
    above(0.0, |settling| area_by_rule(m3_s(0.01), m_s(settling), of(1.2)));
    from(0.0, |flow| area_by_rule(m3_s(flow), m_s(1e-4), of(1.2)));
    from(0.0, |area| volume_by_rule(m2(area), 3600.0));
    above(0.0, |weight| sediment_volume(kg(10.0), kg_m3(weight)));
    from(0.0, |mass| sediment_volume(kg(mass), kg_m3(1200.0)));
    above(0.0, |width| horizontal_velocity(m3_s(0.01), m(width), m(1.0)));
    above(0.0, |depth| horizontal_velocity(m3_s(0.01), m(1.0), m(depth)));
    let terms = |stickiness: f64, friction: f64, density: f64, diameter: f64| ScourTerms {
        diameter: m(diameter),
        particle_density: kg_m3(density),
        water_density: kg_m3(1000.0),
        stickiness,
        friction,
        gravity: standard_gravity(),
    };
    between(0.02, 0.08, |beta| scour_velocity(&terms(beta, 0.025, 2650.0, 1e-4)));
    between(0.01, 0.05, |f| scour_velocity(&terms(0.05, f, 2650.0, 1e-4)));
    above(1000.0, |density| scour_velocity(&terms(0.05, 0.025, density, 1e-4)));
    from(0.0, |diameter| scour_velocity(&terms(0.05, 0.025, 2650.0, diameter)));
    let sludge =
        |share: f64| Sludge { solids_share: of(share), solids_density: kg_m3(2650.0), water_density: kg_m3(1000.0) };
    let wet = holds([sludge(1e-6).density(), sludge(1.0).density()]);
    fails(wet, [0.0, -0.1, 1.001, f64::NAN].map(|share| sludge(share).density()));
    fails(wet, [0.0, 1.001].map(|share| sludge(share).volume(kg(1.0))));
    from(0.0, |mass| sludge(0.2).volume(kg(mass)));
    above(0.0, |flow| detention_time(m3(10.0), m3(1.0), m3_s(flow)));
    from(1.0, |pond| detention_time(m3(pond), m3(1.0), m3_s(0.01)));
}
