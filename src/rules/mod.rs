//! What may leave, when, and how it is shown: windows, decision, evidence, duties, notices.

mod finding;

pub use finding::{
    Evidence, Figure, Finding, FindingKind, Judged, Missing, Outcome, Provenance, StripData,
    WindowFinding,
};
