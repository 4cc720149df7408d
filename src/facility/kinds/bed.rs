//! What the media beds, shallow or deep, share: how their vessels and layers are read and said.

use uom::si::f64::Length;

use super::{MediaBed, MediaLayer, Opening};
use crate::facility::read::filter_keys::{AgainstSand, Bed, Layer};
use crate::facility::read::{Reader, above_zero};
use crate::files::{Field, Given};
use crate::quantity::kind;

pub(super) const NO_OPENING: Opening = Opening::None {
    told: "a media bed has no opening",
    hint: "say the size of its grains in `media`: {grains: 0.9 mm}",
};

/// A bed as far as it could be read.
pub(super) struct BedRead {
    pub(super) vessels: Option<u32>,
    pub(super) diameter: Option<Given<Length>>,
    pub(super) media: Option<Vec<MediaLayer>>,
}

impl BedRead {
    /// Reads the washes of its vessels.
    pub(super) fn washes(&self, reader: &mut Reader<'_, '_>) {
        reader.washes("vessel", self.vessels.unwrap_or(1));
    }
}

pub(super) fn read(reader: &mut Reader<'_, '_>) -> BedRead {
    let vessels = reader.map.get(&Bed::VESSELS).count(1, 1000).and_then(|said| u32::try_from(said.value).ok());
    let diameter = above_zero(&reader.map.get(&Bed::DIAMETER), |field| field.quantity::<kind::Length>());
    let layers_field = reader.map.get(&Bed::MEDIA);
    let items = layers_field.list();
    if layers_field.is_list() && items.is_empty() {
        layers_field.refuse("a bed without media", "write it like [{kind: silica sand, depth: 14 in}]");
    }
    let media: Option<Vec<MediaLayer>> = items.iter().map(layer).collect();
    BedRead { vessels, diameter, media: media.filter(|layers| !layers.is_empty()) }
}

fn layer(field: &Field<'_>) -> Option<MediaLayer> {
    let mut map = field.fields()?;
    let kind = map.get(&Layer::KIND).text();
    let depth = above_zero(&map.get(&Layer::DEPTH), |field| field.quantity::<kind::Length>());
    let grains = map.get(&Layer::GRAINS).quantity::<kind::Size>();
    let voids = map.get(&Layer::VOIDS).quantity::<kind::Share>();
    let density = map.get(&Layer::DENSITY).quantity::<kind::Density>();
    let (mut load_held_times, mut wash_flow_times) = (None, None);
    if let Some(mut sand) = map.get(&Layer::AGAINST_SAND).fields() {
        load_held_times = sand.get(&AgainstSand::LOAD).quantity::<kind::Multiple>();
        wash_flow_times = sand.get(&AgainstSand::FLOW).quantity::<kind::Multiple>();
        sand.finish();
    }
    map.finish();
    Some(MediaLayer { kind: kind?.value, depth: depth?, grains, voids, density, load_held_times, wash_flow_times })
}

/// Vessels and layers, top first.
pub(super) fn sentence(bed: MediaBed<'_>) -> String {
    let layer = |layer: &MediaLayer| {
        let mut text = format!("{} of {}", layer.depth.text, layer.kind);
        if let Some(grains) = &layer.grains {
            text.push_str(&format!(", grains of {}", grains.text));
        }
        if let Some(voids) = &layer.voids {
            text.push_str(&format!(", {} voids", voids.text));
        }
        let against = [("load", &layer.load_held_times), ("wash flow", &layer.wash_flow_times)];
        for (word, times) in against {
            if let Some(times) = times {
                text.push_str(&format!(", {word} {} sand's", times.text));
            }
        }
        text
    };
    let layers: Vec<String> = bed.media.iter().map(layer).collect();
    let layers = if layers.is_empty() { String::new() } else { format!(", over {}", layers.join(" on ")) };
    format!(", in {} vessels of {}{layers}", bed.vessels, bed.diameter.text)
}
