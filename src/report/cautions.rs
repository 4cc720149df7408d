//! The cautions that every report carries, in one place.

use crate::facility::model::{Facility, PlaceKind};

/// A caution: its head and what it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// Its head.
    pub head: &'static str,
    /// What it says.
    pub text: &'static [&'static str],
}

/// What a report is and is not; printed in full at its end, and in short on page 1.
pub const STANDING: Caution = Caution {
    head: "What this report is, and who decides",
    text: &[
        "It is an estimate made from the user's own records, files and assumptions. It is not a monitoring report, an \
         engineering design, legal advice or a permit decision, and must not be handed in as one.",
        "The permitting authority's reading of the permit, its approved methods and its own forms prevail. Local codes \
         prevail. Where the law asks for a licensed engineer, surveyor, operator or laboratory, this report does not \
         stand in for one.",
        "A computed figure is a prediction. It never shows that a limit was met. Missing data never show it either.",
        "Duties to call, write, sample and report run from the day something becomes known, whatever this report says, \
         and do not wait for it. Make a call that is due before you finish reading.",
        "Keep the original sheets, slips, charts and meter certificates. A line in a file is a copy.",
    ],
};

/// Dangers at the places the report describes.
pub const DANGERS: &[Caution] = &[
    Caution {
        head: "Open water",
        text: &[
            "Ponds and open tanks drown people, children first. Fence and lock them, keep a ladder or rope and a buoy at \
             hand, and do not work alone. Lined slopes are slippery; ice does not bear.",
        ],
    },
    Caution {
        head: "Soft sludge",
        text: &[
            "The crust on settled sludge looks firm and is not. Never walk on it; measure it from the bank or a boat, two people at least.",
        ],
    },
    Caution {
        head: "Confined spaces",
        text: &[
            "Sumps, pits, tanks and filter vessels may lack oxygen or hold hydrogen sulphide or carbon dioxide. Only \
             trained people enter, with a permit to enter, a tested atmosphere and somebody outside.",
        ],
    },
    Caution {
        head: "Stored pressure",
        text: &[
            "Vessels, housings and lines hold pressure after the pump has stopped. Isolate and vent before you open a lid, a clamp or a hatch.",
        ],
    },
    Caution {
        head: "Electricity near water",
        text: &[
            "Pumps, motors and panels near water are for a qualified electrician: lock out, test, and use residual-current (ground-fault) protection.",
        ],
    },
    Caution {
        head: "Moving parts",
        text: &[
            "Drums, rolls, vibrating decks and drives start without warning on level or clock. Guard them and lock them out before you reach in.",
        ],
    },
    Caution {
        head: "Chemicals",
        text: &[
            "Hypochlorite with acid gives off chlorine. Chlorine, peroxyacetic acid and strong acids burn, and chlorine in \
             a discharge kills what lives in the water it reaches. Read the label and the safety sheet; keep a backflow \
             preventer between any of it and drinking water.",
        ],
    },
    Caution {
        head: "Wash water and sludge",
        text: &[
            "They may carry pathogens and crop-protection products. Wear gloves and eye protection, and take them only where your permit lets them go.",
        ],
    },
    Caution {
        head: "Banks and dams",
        text: &[
            "A bank that fails floods what lies below it. Do not build, raise, breach or line one from this report: that is \
             work for a licensed engineer, and dams, wetlands, water rights and groundwater have permits of their own.",
        ],
    },
];

/// What a site has that dangers are about.
#[derive(Debug, Clone, Copy, Default)]
pub struct Has {
    ponds: bool,
    tanks: bool,
    filters: bool,
}

impl Has {
    /// Of a facility.
    pub fn of(facility: &Facility) -> Self {
        let any = |wanted: fn(&PlaceKind) -> bool| facility.places.iter().any(|place| wanted(&place.kind));
        Self {
            ponds: any(|kind| matches!(kind, PlaceKind::Pond(_))),
            tanks: any(|kind| matches!(kind, PlaceKind::Tank(_))),
            filters: any(|kind| matches!(kind, PlaceKind::Filter(_))),
        }
    }
}

/// Whether a site has what a danger is about; one of which that is not said concerns every site.
pub fn concerns(danger: &Caution, Has { ponds, tanks, filters }: Has) -> bool {
    match danger.head {
        "Open water" => ponds || tanks,
        "Soft sludge" | "Banks and dams" => ponds,
        "Confined spaces" => tanks || filters,
        "Stored pressure" | "Moving parts" | "Chemicals" => filters,
        "Wash water and sludge" => filters || ponds,
        _ => true,
    }
}

/// The words on page 1.
pub fn short(authority: &str) -> String {
    format!(
        "This is the holder's own summary, not a monitoring report, permit decision, legal advice or engineering design. \
         What {authority} reads, approves and prescribes prevails. Notice duties run whatever this page says."
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_danger_the_report_owes_its_reader_is_named() {
        let all: String = DANGERS
            .iter()
            .flat_map(|caution| std::iter::once(&caution.head).chain(caution.text))
            .copied()
            .collect::<Vec<_>>()
            .join(" ")
            .to_lowercase();
        // A head that is misspelt in the list of what a site has would concern every site.
        let left: Vec<&str> = DANGERS.iter().filter(|of| concerns(of, Has::default())).map(|of| of.head).collect();
        assert_eq!(left, ["Electricity near water"]);
        for word in ["drown", "sludge", "confined", "pressure", "electric", "moving", "chemical", "bank"] {
            assert!(all.contains(word), "{word} is not named");
        }
        let standing = STANDING.text.join(" ");
        for word in [
            "monitoring report",
            "engineering design",
            "legal advice",
            "permit decision",
            "authority",
            "Local codes",
            "licensed",
        ] {
            assert!(standing.contains(word), "{word} is not named");
        }
    }
}
