//! Runoff by coefficient, water quality volume, depth on area.

use crate::science::Ranged;
use crate::science::hydrology::records;
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Ratio, Volume};
use uom::si::length::{inch, meter};
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;

/// Runoff depth by coefficient after a first loss. Record: [`records::RUNOFF_COEFFICIENT`].
pub fn runoff_by_coefficient(rain: Length, coefficient: Ratio, first_loss: Length) -> Ranged<Length> {
    let left = (rain - first_loss).get::<meter>().max(0.0);
    let share = coefficient.get::<ratio>();
    Ranged::new(
        Length::new::<meter>(left * share),
        &records::RUNOFF_COEFFICIENT,
        (0.0..=1.0).contains(&share) && rain.get::<meter>() >= 0.0 && first_loss.get::<meter>() >= 0.0,
    )
}

/// Volumetric runoff coefficient by impervious share. Record: [`records::RUNOFF_RATIO_RV`].
pub fn runoff_ratio_rv(impervious: Ratio) -> Ranged<Ratio> {
    let share = impervious.get::<ratio>();
    Ranged::new(Ratio::new::<ratio>(0.05 + 0.9 * share), &records::RUNOFF_RATIO_RV, (0.0..=1.0).contains(&share))
}

/// Water quality volume of a drained area. Record: [`records::WATER_QUALITY_VOLUME`].
pub fn water_quality_volume(rain: Length, impervious: Ratio, area: Area) -> Ranged<Volume> {
    let coefficient = runoff_ratio_rv(impervious);
    let mut depth = rain * coefficient.value;
    let least = Length::new::<inch>(0.2);
    if impervious.get::<ratio>() < 0.15 && depth < least {
        depth = least;
    }
    Ranged::new(
        depth * area,
        &records::WATER_QUALITY_VOLUME,
        coefficient.within && rain.get::<meter>() >= 0.0 && area.get::<square_meter>() >= 0.0,
    )
}

/// Volume of a depth of water on an area. Record: [`records::DEPTH_ON_AREA`].
pub fn volume_from_depth(depth: Length, area: Area) -> Volume {
    depth * area
}

/// Depth of a volume of water on an area. Record: [`records::DEPTH_ON_AREA`]; not a number without area.
pub fn depth_from_volume(volume: Volume, area: Area) -> Ranged<Length> {
    let depth = volume.get::<cubic_meter>() / area.get::<square_meter>();
    let real = area.get::<square_meter>() > 0.0;
    Ranged::new(Length::new::<meter>(if real { depth } else { f64::NAN }), &records::DEPTH_ON_AREA, real)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::area::hectare;
    use uom::si::length::millimeter;

    #[test]
    fn ten_millimetres_on_a_hectare_of_roof_is_about_ninety_five_cubic_metres() {
        // Arithmetic: 10 mm on 1 ha is 100 m³; coefficient 0.95.
        let runoff = runoff_by_coefficient(
            Length::new::<millimeter>(10.0),
            Ratio::new::<ratio>(0.95),
            Length::new::<millimeter>(0.0),
        );
        let volume = volume_from_depth(runoff.value, Area::new::<hectare>(1.0));
        assert!((volume.get::<cubic_meter>() - 95.0).abs() < 1e-9);
    }

    #[test]
    fn a_shower_below_the_first_loss_runs_off_nothing() {
        let runoff = runoff_by_coefficient(
            Length::new::<millimeter>(0.6),
            Ratio::new::<ratio>(0.9),
            Length::new::<millimeter>(0.8),
        );
        assert_eq!(runoff.value.get::<meter>(), 0.0);
    }
}
