//! One row of the table: its inputs as quantities. Factors are exact and written out here, so that the table does not
//! lean on the library's own reading of units.

use uom::si::f64::*;
use uom::si::{
    acceleration::meter_per_second_squared, angle::degree, area::square_meter, dynamic_viscosity::pascal_second,
    kinematic_viscosity::square_meter_per_second, length::meter, mass_density::kilogram_per_cubic_meter,
    pressure::pascal, ratio::ratio, thermodynamic_temperature::kelvin, time::second, velocity::meter_per_second,
    volume_rate::cubic_meter_per_second,
};

pub const FOOT: f64 = 0.3048;
pub const INCH: f64 = 0.0254;
pub const GALLON: f64 = 231.0 * INCH * INCH * INCH;
pub const ACRE: f64 = 43_560.0 * FOOT * FOOT;
pub const POUND: f64 = 0.453_592_37;
pub const DAY: f64 = 86_400.0;

pub struct Row {
    pub id: String,
    pub quantity: String,
    pub inputs: String,
    pub expected: String,
    pub unit: String,
    pub tolerance: String,
    pub source: String,
}

pub fn read() -> Vec<Row> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/check-values.csv");
    let mut reader = csv::Reader::from_path(path).expect("the table is there");
    let headings = reader.headers().expect("headings").clone();
    reader
        .records()
        .map(|record| {
            let record = record.expect("a row of the table");
            let field = |name: &str| {
                let column = headings.iter().position(|heading| heading == name).expect(name);
                record.get(column).expect(name).to_owned()
            };
            Row {
                id: field("id"),
                quantity: field("quantity"),
                inputs: field("inputs"),
                expected: field("expected"),
                unit: field("unit"),
                tolerance: field("tolerance"),
                source: field("source"),
            }
        })
        .collect()
}

impl Row {
    pub fn expected(&self) -> f64 {
        self.expected.parse().unwrap_or_else(|_| panic!("{}: expected `{}` is no number", self.id, self.expected))
    }

    pub fn allowed_difference(&self) -> f64 {
        let (kind, size) = self.tolerance.split_once(' ').unwrap_or((&self.tolerance, ""));
        let size: f64 = size.parse().unwrap_or_else(|_| panic!("{}: tolerance `{}`", self.id, self.tolerance));
        match kind {
            // A tie (3.375 printed as 3.38) and a value printed in full may differ in the last bit of our arithmetic.
            "abs" => size * (1.0 + 1e-9) + 1e-12 * self.expected().abs(),
            "rel" => size * self.expected().abs(),
            _ => panic!("{}: tolerance `{}`", self.id, self.tolerance),
        }
    }

    pub fn has(&self, key: &str) -> bool {
        self.find(key).is_some()
    }

    fn find(&self, key: &str) -> Option<&str> {
        self.inputs
            .split(';')
            .filter_map(|part| part.trim().split_once('='))
            .find(|(name, _)| *name == key)
            .map(|(_, text)| text.trim())
    }

    pub fn text(&self, key: &str) -> &str {
        self.find(key).unwrap_or_else(|| panic!("{}: no input `{key}` in `{}`", self.id, self.inputs))
    }

    /// The number and the word after it.
    fn measured(&self, key: &str) -> (f64, &str) {
        let text = self.text(key);
        let mut words = text.split_whitespace();
        let number = words.next().and_then(|word| word.parse().ok());
        (number.unwrap_or_else(|| panic!("{}: `{key}={text}` is no number", self.id)), words.next().unwrap_or(""))
    }

    pub fn number(&self, key: &str) -> f64 {
        self.measured(key).0
    }

    pub fn whole(&self, key: &str) -> u32 {
        self.number(key) as u32
    }

    pub fn list(&self, key: &str) -> Vec<f64> {
        let text = self.text(key);
        let inside = text.strip_prefix('[').and_then(|rest| rest.split(']').next()).expect("a list in brackets");
        inside.split(',').map(|item| item.trim().parse().expect("a number in a list")).collect()
    }

    fn scaled(&self, key: &str, units: &[(&str, f64)]) -> f64 {
        let (number, unit) = self.measured(key);
        let factor = units.iter().find(|(name, _)| *name == unit);
        number * factor.unwrap_or_else(|| panic!("{}: unit `{unit}` of `{key}`", self.id)).1
    }

    pub fn length(&self, key: &str) -> Length {
        Length::new::<meter>(self.scaled(key, &[("m", 1.0), ("mm", 1e-3), ("in", INCH), ("ft", FOOT)]))
    }

    pub fn area(&self, key: &str) -> Area {
        let units = [("m2", 1.0), ("ft2", FOOT * FOOT), ("acre", ACRE), ("ha", 1e4)];
        Area::new::<square_meter>(self.scaled(key, &units))
    }

    pub fn velocity(&self, key: &str) -> Velocity {
        let units = [("m/s", 1.0), ("ft/s", FOOT), ("m/h", 1.0 / 3600.0), ("gpm/ft2", GALLON / 60.0 / (FOOT * FOOT))];
        Velocity::new::<meter_per_second>(self.scaled(key, &units))
    }

    pub fn volume(&self, key: &str) -> Volume {
        Volume::new::<uom::si::volume::cubic_meter>(self.scaled(key, &[("m3", 1.0)]))
    }

    pub fn flow(&self, key: &str) -> VolumeRate {
        let units = [("m3/s", 1.0), ("m3/d", 1.0 / DAY), ("ft3/s", FOOT * FOOT * FOOT), ("MGD", 1e6 * GALLON / DAY)];
        VolumeRate::new::<cubic_meter_per_second>(self.scaled(key, &units))
    }

    pub fn density(&self, key: &str) -> MassDensity {
        let units = [("kg/m3", 1.0), ("lb/ft3", POUND / (FOOT * FOOT * FOOT))];
        MassDensity::new::<kilogram_per_cubic_meter>(self.scaled(key, &units))
    }

    pub fn temperature(&self, key: &str) -> ThermodynamicTemperature {
        let (number, unit) = self.measured(key);
        ThermodynamicTemperature::new::<kelvin>(if unit == "K" { number } else { number + 273.15 })
    }

    pub fn pressure(&self, key: &str) -> Pressure {
        Pressure::new::<pascal>(self.scaled(key, &[("Pa", 1.0), ("kPa", 1e3)]))
    }

    pub fn viscosity(&self, key: &str) -> DynamicViscosity {
        DynamicViscosity::new::<pascal_second>(self.scaled(key, &[("Pa", 1.0)]))
    }

    pub fn kinematic(&self, key: &str) -> KinematicViscosity {
        KinematicViscosity::new::<square_meter_per_second>(self.scaled(key, &[("m2/s", 1.0)]))
    }

    /// Acceleration of free fall, standard where the row does not say it.
    pub fn gravity(&self) -> Acceleration {
        let value = if self.has("g") { self.number("g") } else { 9.806_65 };
        Acceleration::new::<meter_per_second_squared>(value)
    }

    pub fn time(&self, key: &str) -> Time {
        Time::new::<second>(self.scaled(key, &[("s", 1.0), ("min", 60.0), ("h", 3600.0), ("d", DAY)]))
    }

    pub fn angle(&self, key: &str) -> Angle {
        Angle::new::<degree>(self.number(key))
    }

    /// A share, from per cent or as it stands.
    pub fn share(&self, key: &str) -> Ratio {
        let (number, unit) = self.measured(key);
        Ratio::new::<ratio>(if unit == "%" { number / 100.0 } else { number })
    }

    /// A length in the row's unit.
    pub fn length_out(&self, length: Length) -> f64 {
        let metres = length.get::<meter>();
        match self.unit.as_str() {
            "m" => metres,
            "mm" | "mm/d" => metres * 1e3,
            "in" => metres / INCH,
            unit => panic!("{}: unit `{unit}` for a length", self.id),
        }
    }

    /// A volume in the row's unit.
    pub fn volume_out(&self, volume: Volume) -> f64 {
        let m3 = volume.get::<uom::si::volume::cubic_meter>();
        match self.unit.as_str() {
            "m3" => m3,
            "US gal" => m3 / GALLON,
            "acre-ft" | "acre-ft/ton" => m3 / (ACRE * FOOT),
            "ft3" | "ft3/ton" => m3 / (FOOT * FOOT * FOOT),
            unit => panic!("{}: unit `{unit}` for a volume", self.id),
        }
    }

    /// A flow in the row's unit.
    pub fn flow_out(&self, flow: VolumeRate) -> f64 {
        let m3_s = flow.get::<cubic_meter_per_second>();
        match self.unit.as_str() {
            "m3/s" => m3_s,
            "m3/h" => m3_s * 3600.0,
            "L/s" => m3_s * 1e3,
            "ft3/s" => m3_s / (FOOT * FOOT * FOOT),
            "gpm" => m3_s * 60.0 / GALLON,
            unit => panic!("{}: unit `{unit}` for a flow", self.id),
        }
    }
}
