//! Drag of a sphere by named law.

use crate::science::particles::records;
use crate::science::{Method, Ranged};
use uom::si::f64::Ratio;
use uom::si::ratio::ratio;

/// A named law of drag coefficient against Reynolds number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DragLaw {
    /// 24/Re.
    Stokes,
    /// Schiller and Naumann.
    SchillerNaumann,
    /// Clift, Grace and Weber.
    Clift,
    /// Clift and Gauvin.
    CliftGauvin,
    /// Barati and others.
    Barati,
    /// Haider and Levenspiel.
    HaiderLevenspiel,
    /// Fair and Geyer, as used for filter grains.
    FairGeyer,
}

impl DragLaw {
    /// Every law.
    pub const ALL: [Self; 7] = [
        Self::Stokes,
        Self::SchillerNaumann,
        Self::Clift,
        Self::CliftGauvin,
        Self::Barati,
        Self::HaiderLevenspiel,
        Self::FairGeyer,
    ];

    /// The law's record.
    pub fn method(self) -> &'static Method {
        match self {
            Self::Stokes => &records::STOKES,
            Self::SchillerNaumann => &records::SCHILLER_NAUMANN,
            Self::Clift => &records::CLIFT,
            Self::CliftGauvin => &records::CLIFT_GAUVIN,
            Self::Barati => &records::BARATI,
            Self::HaiderLevenspiel => &records::HAIDER_LEVENSPIEL,
            Self::FairGeyer => &records::FAIR_GEYER_DRAG,
        }
    }

    /// Greatest Reynolds number for which the law was made.
    pub fn greatest_reynolds(self) -> f64 {
        match self {
            Self::Stokes => 0.5,
            Self::SchillerNaumann => 1_000.0,
            Self::Clift => 1e6,
            Self::CliftGauvin | Self::Barati => 2e5,
            Self::HaiderLevenspiel => 2.6e5,
            Self::FairGeyer => 1e4,
        }
    }

    /// Drag coefficient at a Reynolds number. Marked outside above the law's range and below zero.
    pub fn coefficient(self, reynolds: Ratio) -> Ranged<Ratio> {
        let re = reynolds.get::<ratio>();
        Ranged::new(Ratio::new::<ratio>(self.plain(re)), self.method(), re > 0.0 && re <= self.greatest_reynolds())
    }

    pub(crate) fn plain(self, re: f64) -> f64 {
        let stokes = 24.0 / re;
        match self {
            Self::Stokes => stokes,
            Self::SchillerNaumann => stokes * (1.0 + 0.15 * re.powf(0.687)),
            Self::Clift => clift(re),
            Self::CliftGauvin => stokes * (1.0 + 0.152 * re.powf(0.677)) + 0.417 / (1.0 + 5070.0 * re.powf(-0.94)),
            Self::Barati => {
                5.4856e9 * (4.3774e-9 / re).tanh() + 0.0709 * (700.6574 / re).tanh() + 0.3894 * (74.1539 / re).tanh()
                    - 0.1198 * (7429.0843 / re).tanh()
                    + 1.7174 * (9.9851 / (re + 2.3384)).tanh()
                    + 0.4744
            }
            Self::HaiderLevenspiel => stokes * (1.0 + 0.1806 * re.powf(0.6459)) + 0.4251 / (1.0 + 6880.95 / re),
            Self::FairGeyer if re < 0.5 => stokes,
            Self::FairGeyer => stokes + 3.0 / re.sqrt() + 0.34,
        }
    }
}

fn clift(re: f64) -> f64 {
    let log = re.log10();
    if re < 0.01 {
        24.0 / re + 3.0 / 16.0
    } else if re < 20.0 {
        24.0 / re * (1.0 + 0.1315 * re.powf(0.82 - 0.05 * log))
    } else if re < 260.0 {
        24.0 / re * (1.0 + 0.1935 * re.powf(0.6305))
    } else if re < 1_500.0 {
        10f64.powf(1.6435 - 1.1242 * log + 0.1558 * log * log)
    } else if re < 12_000.0 {
        10f64.powf(-2.4571 + 2.5558 * log - 0.9295 * log * log + 0.1049 * log.powi(3))
    } else if re < 44_000.0 {
        10f64.powf(-1.9181 + 0.6370 * log - 0.0636 * log * log)
    } else if re < 338_000.0 {
        10f64.powf(-4.3390 + 1.5809 * log - 0.1546 * log * log)
    } else if re < 400_000.0 {
        29.78 - 5.3 * log
    } else {
        0.19 * log - 0.49
    }
}
