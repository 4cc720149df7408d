//! Kinds of solids, size classes, capture by size, settling velocity by named method.
//!
//! A *parcel* is a kind and a size class; density, and so settling speed, belong to the pair. Peat and silt of one
//! size must not share a class: at 10 µm and 15 °C quartz falls thirty times as fast as wet peat.

mod capture;
mod classes;
mod drag;
mod kind;
pub mod records;
mod settling;

pub use capture::{Capture, CaptureCurve, ClassCapture};
pub use classes::{ClassEdgesError, SizeClasses};
pub use drag::DragLaw;
pub use kind::{SizeSpread, SizeSpreadError, SolidsKind};
pub use settling::{
    FERGUSON_CHURCH_NATURAL, FERGUSON_CHURCH_NOMINAL, FERGUSON_CHURCH_SPHERES, FergusonChurch, Grain, ShapedGrain,
    by_drag_law, ferguson_church, grain_reynolds, newton_one_step, settling_velocity, stokes,
};
