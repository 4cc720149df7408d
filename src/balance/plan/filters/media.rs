//! What the layers of a bed hold and need against sand, as drawn.

use uom::si::f64::Ratio;

use crate::balance::plan::build::Builder;
use crate::facility::model::Filter;
use crate::files::Given;
use crate::filters::{load_against_sand, wash_against_sand};

/// What a bed's media hold, and the wash flux they need, against sand.
pub(super) fn against_sand(b: &mut Builder<'_>, filter: &Filter) -> (f64, f64) {
    let Some(bed) = filter.kind.media_bed() else {
        return (1.0, 1.0);
    };
    let media = bed.media;
    // Depths only weigh the layers.
    let weighs = media.len() > 1 && media.iter().any(|l| l.load_held_times.is_some());
    let mut layers = Vec::with_capacity(media.len());
    for layer in media {
        let mut times =
            |given: Option<&Given<Ratio>>| given.map(|g| b.sampler.drawn(g)).filter(|d| !d.unknown).map(|d| d.value);
        let load = times(layer.load_held_times.as_ref());
        let wash = times(layer.wash_flow_times.as_ref());
        let depth = if weighs { b.sampler.value(&layer.depth) } else { 1.0 };
        layers.push((depth, load, wash));
    }
    (
        load_against_sand(layers.iter().map(|(depth, load, _)| (*depth, *load))),
        wash_against_sand(layers.iter().map(|(_, _, wash)| *wash)),
    )
}
