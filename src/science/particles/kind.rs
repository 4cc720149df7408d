//! A kind of solids: density, spread of size, whether it floats.

use crate::science::Ranged;
use crate::science::particles::settling::settling_velocity;
use thiserror::Error;
use uom::si::f64::{Length, MassDensity, ThermodynamicTemperature, Velocity};
use uom::si::length::micrometer;
use uom::si::velocity::meter_per_second;

/// Why a spread of size cannot be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum SizeSpreadError {
    /// A size is not a number above zero.
    #[error("particle sizes must be above zero")]
    NotPositive,
    /// d90 is below the median.
    #[error("nine tenths of the mass can't be finer than a size below the median")]
    D90BelowMedian,
}

/// A lognormal spread of size by mass, through the median and d90.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeSpread {
    median: Length,
    d90: Length,
}

impl SizeSpread {
    /// The spread whose median and 90 % size these are. Record: [`crate::science::particles::records::LOGNORMAL_SPREAD`].
    /// Equal sizes put all mass at that size.
    pub fn lognormal(median: Length, d90: Length) -> Result<Self, SizeSpreadError> {
        for size in [median, d90] {
            let um = size.get::<micrometer>();
            if !(um.is_finite() && um > 0.0) {
                return Err(SizeSpreadError::NotPositive);
            }
        }
        if d90 < median {
            return Err(SizeSpreadError::D90BelowMedian);
        }
        Ok(Self { median, d90 })
    }

    /// The size that half of the mass is finer than.
    pub fn median(&self) -> Length {
        self.median
    }

    /// The size that nine tenths of the mass is finer than.
    pub fn d90(&self) -> Length {
        self.d90
    }

    /// Standard deviation of the logarithm of size.
    pub fn sigma(&self) -> f64 {
        (self.d90 / self.median).value.ln() / 1.281_551_565_544_600_4
    }
}

/// A kind of solids carried by the water: peat, silt, perlite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolidsKind {
    /// Density of the wet particle, pores filled.
    pub density: MassDensity,
    /// Whether it floats whatever its density says; then it never settles.
    pub floats: bool,
    /// Spread of size by mass.
    pub spread: SizeSpread,
}

impl SolidsKind {
    /// Settling velocity of a particle of this kind and of the given size; zero if the kind floats.
    pub fn settling_velocity(&self, size: Length, temperature: ThermodynamicTemperature) -> Ranged<Velocity> {
        let velocity = settling_velocity(size, self.density, temperature);
        if self.floats { velocity.map(|_| Velocity::new::<meter_per_second>(0.0)) } else { velocity }
    }
}
