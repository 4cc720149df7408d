//! Head loss through beds of media, fluidisation and expansion in a wash, weirs and orifices, what a membrane parts.

mod bed;
mod membrane;
mod orifice;
mod published;
pub mod records;
mod wash;
mod weirs;

pub use bed::{BedLayer, carman, ergun, kozeny_carman, rose};
pub use membrane::feed_and_reject;
pub use orifice::orifice;
pub use published::{PUBLISHED_FIGURES, PublishedFigure, WASH_RATES_BY_FILTRATION, gallons_per_minute_per_square_foot};
pub use wash::{
    WashedBed, backwash_flow, backwash_volume, bed_expansion, expanded_depth, expanded_porosity_fair_geyer,
    expanded_porosity_richardson_zaki, expansion_index, expansion_of_bed, least_fluidising_rate,
};
pub use weirs::{
    RectangularWeir, ackers, broad_crested, broad_crested_head_us, broad_crested_us, francis, kindsvater_carter,
    kindsvater_shen, rehbock, riser_notch, v_notch_60, v_notch_90, v_notch_120,
};
