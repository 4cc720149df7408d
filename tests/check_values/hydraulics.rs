//! Rows on beds, washes, weirs and orifices.

use super::row::Row;
use super::water_and_settling::{grain, water};
use bywash::science::hydraulics;
use bywash::science::hydraulics::{BedLayer, PUBLISHED_FIGURES, RectangularWeir, WASH_RATES_BY_FILTRATION};
use bywash::science::particles::Grain;
use bywash::science::water::Water;
use uom::si::f64::{Length, MassDensity, Pressure, ReciprocalLength};
use uom::si::length::{meter, millimeter};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::pressure::pascal;
use uom::si::ratio::ratio;
use uom::si::reciprocal_length::reciprocal_meter;
use uom::si::velocity::meter_per_second;

fn bed(row: &Row) -> BedLayer {
    BedLayer { grain: row.length("d"), porosity: row.share("eps"), depth: row.length("L") }
}

fn pascals(loss: bywash::science::Ranged<Pressure>) -> f64 {
    loss.value.get::<pascal>()
}

/// Openings of US sieves, mm (ASTM E11).
fn sieve(number: &str) -> f64 {
    match number {
        "5" => 4.0,
        "6" => 3.35,
        "7" => 2.8,
        "8" => 2.36,
        "10" => 2.0,
        "12" => 1.7,
        "14" => 1.4,
        "16" => 1.18,
        "18" => 1.0,
        "20" => 0.85,
        "25" => 0.71,
        "30" => 0.6,
        "35" => 0.5,
        "40" => 0.425,
        other => panic!("sieve {other}"),
    }
}

/// The page prints no grain density: common figures stand in, which is why the row's band is wide.
fn sieved_media(row: &Row) -> Grain {
    let words: Vec<&str> = row.text("media").split([' ', '-']).collect();
    let density = match words[0] {
        "sand" => 2650.0,
        "anthracite" => 1700.0,
        other => panic!("{}: media {other}", row.id),
    };
    Grain {
        diameter: Length::new::<millimeter>((sieve(words[1]) * sieve(words[2])).sqrt()),
        density: MassDensity::new::<kilogram_per_cubic_meter>(density),
    }
}

pub fn value(row: &Row) -> Option<f64> {
    beds(row).or_else(|| washes(row)).or_else(|| flows(row))
}

fn beds(row: &Row) -> Option<f64> {
    Some(match row.quantity.as_str() {
        "ergun_pressure_drop" => pascals(hydraulics::ergun(bed(row), row.velocity("v"), water(row))),
        "carman_pressure_drop" => pascals(hydraulics::carman(bed(row), row.velocity("v"), water(row))),
        "kozeny_carman_pressure_drop" => {
            // The density does not enter.
            let water =
                Water { density: MassDensity::new::<kilogram_per_cubic_meter>(1000.0), viscosity: row.viscosity("mu") };
            pascals(hydraulics::kozeny_carman(bed(row), row.share("phi"), row.velocity("v"), water, row.number("K")))
        }
        "rose_headloss" => {
            let sum = ReciprocalLength::new::<reciprocal_meter>(row.number("sum_CDf_d"));
            hydraulics::rose(row.length("L"), row.share("eps"), row.share("phi"), row.velocity("v"), sum, row.gravity())
                .value
                .get::<meter>()
        }
        _ => return None,
    })
}

fn washes(row: &Row) -> Option<f64> {
    if let Some(figure) = PUBLISHED_FIGURES.iter().find(|figure| figure.id == row.quantity) {
        assert_eq!(figure.unit, row.unit, "{}", row.id);
        return Some(figure.value);
    }
    Some(match row.quantity.as_str() {
        "expanded_porosity_fair_geyer" => {
            hydraulics::expanded_porosity_fair_geyer(row.velocity("vb"), row.velocity("vs"), row.share("Re"))
                .value
                .get::<ratio>()
        }
        "expanded_depth_fair_geyer" => {
            hydraulics::expanded_depth(row.length("L"), row.share("eps"), row.number("sum_f_1me")).value.get::<meter>()
        }
        "vmf_wen_yu" => {
            hydraulics::least_fluidising_rate(grain(row), water(row), row.gravity()).value.get::<meter_per_second>()
        }
        "vmf_published_m_per_h" => {
            let water = Water::at(row.temperature("T")).value;
            let rate = hydraulics::least_fluidising_rate(sieved_media(row), water, row.gravity()).value;
            rate.get::<meter_per_second>() * 3600.0
        }
        "richardson_zaki_n" => hydraulics::expansion_index(row.share("Re")).value,
        "expanded_porosity_richardson_zaki" => {
            hydraulics::expanded_porosity_richardson_zaki(row.velocity("v"), row.velocity("vt"), row.number("n"))
                .value
                .get::<ratio>()
        }
        "bed_expansion" => hydraulics::bed_expansion(row.share("eps0"), row.share("eps")).value.get::<ratio>(),
        "filtration_backwash_pair_drip_sand" => {
            let filtration = row.number("filtration");
            let pair = WASH_RATES_BY_FILTRATION.iter().find(|pair| pair.0 == filtration);
            pair.expect("a filtration rate of the trials").1
        }
        "gullet_flow" => row.flow_out(hydraulics::backwash_flow(row.velocity("rate"), row.area("A")).value),
        "backwash_volume_gal" => {
            row.volume_out(hydraulics::backwash_volume(row.velocity("q"), row.area("A"), row.time("t")).value)
        }
        "membrane_feed" | "membrane_reject" => {
            let (feed, reject) = hydraulics::feed_and_reject(row.volume("permeate"), row.share("recovery")).value;
            row.volume_out(if row.quantity == "membrane_feed" { feed } else { reject })
        }
        _ => return None,
    })
}

fn flows(row: &Row) -> Option<f64> {
    let weir = || RectangularWeir { crest: row.length("b"), height: row.length("h2") };
    let flow = match row.quantity.as_str() {
        "weir_francis_contracted" => hydraulics::francis(row.length("L"), row.whole("n") as u8, row.length("H")),
        "weir_vnotch90_usbr" => hydraulics::v_notch_90(row.length("H")),
        "weir_vnotch60_gpm" | "weir_vnotch60_Ls" | "weir_vnotch60_cfs" | "weir_vnotch60_m3h" => {
            hydraulics::v_notch_60(row.length("H"))
        }
        "weir_vnotch120_cfs" => hydraulics::v_notch_120(row.length("H")),
        "weir_riser_notch" => {
            let notch = RectangularWeir { crest: row.length("L"), height: row.length("P") };
            hydraulics::riser_notch(notch, row.length("H"))
        }
        "weir_vnotch_kindsvater_shen" => hydraulics::kindsvater_shen(
            row.length("h"),
            row.angle("angle"),
            row.share("Ce"),
            row.length("kh"),
            row.gravity(),
        ),
        "weir_rect_kindsvater_carter_blevins" => hydraulics::kindsvater_carter(weir(), row.length("h1"), row.gravity()),
        "weir_rect_full_rehbock" => hydraulics::rehbock(weir(), row.length("h1"), row.gravity()),
        "weir_rect_full_ackers" => hydraulics::ackers(weir(), row.length("h1"), row.gravity()),
        "weir_broad_crested_ideal" => hydraulics::broad_crested(row.length("b"), row.length("H"), row.gravity()),
        "weir_broad_crested_us" => hydraulics::broad_crested_us(row.number("C"), row.length("L"), row.length("H")),
        "orifice_flow" => hydraulics::orifice(row.length("D"), row.share("Cd"), row.length("h"), row.gravity()),
        _ => return None,
    };
    Some(row.flow_out(flow.value))
}
