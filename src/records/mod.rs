//! Sheets and slips become one timeline; repairs are listed.

mod timeline;

pub use timeline::{
    Act, Level, LevelKind, Look, MeterSpan, Observation, Qualifier, Repair, Sample, Source,
    SourceSummary, Timeline, WashCount,
};
