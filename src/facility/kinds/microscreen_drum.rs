//! Microscreen drum: rinsed all the time, a fixed part of it, or by level; the rinse carries away what it stops.

use uom::si::f64::Area;

use super::{Declared, DrumRinse, InFile, Kind, Opening, Sheds, Through};
use crate::facility::model::Outflow;
use crate::facility::read::Reader;
use crate::facility::sentences::Speaker;
use crate::files::{Field, Given};
use crate::quantity::kind;

/// A microscreen drum.
#[derive(Debug, Clone)]
pub struct MicroscreenDrum {
    /// Mesh area.
    pub mesh_area: Option<Given<Area>>,
    /// The rinse.
    pub rinse: DrumRinse,
}

impl InFile for MicroscreenDrum {
    const DECLARED: Declared = Declared {
        words: "microscreen drum",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: None,
        needs_pump: true,
    };

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let mesh_area = reader.map.may("mesh area").quantity::<kind::Area>();
        let rinse = reader.map.must("rinse", "{flow: 10 gpm, part of the time: always, with: its own filtered water}");
        let to = reader.map.must("rinse water to", "Settling pond");
        let to = reader.outflow(&to);
        Some(Self { mesh_area, rinse: drum_rinse(reader, &rinse, to)? })
    }

    fn sentence(&self, say: &Speaker<'_>) -> String {
        let rinse = &self.rinse;
        let mesh = self.mesh_area.as_ref().map(|area| format!(", {} of mesh", area.text)).unwrap_or_default();
        let how = match (&rinse.cake_at_full_time, &rinse.part_of_the_time) {
            (Some(cake), _) => format!("by level (always on at {})", cake.text),
            (None, Some(part)) => format!("{} of the time", part.text),
            (None, None) => "always".to_string(),
        };
        format!(
            "{mesh}, rinsed {how} at {} with {}, which goes to {}",
            rinse.flow.text,
            say.water(rinse.with),
            say.out(&rinse.to)
        )
    }
}

fn drum_rinse<'a>(reader: &Reader<'_, 'a>, field: &Field<'a>, to: Option<Outflow>) -> Option<DrumRinse> {
    let mut map = field.fields()?;
    let flow = map.must("flow", "10 gpm").quantity::<kind::Flow>();
    let part_field = map.must("part of the time", "always");
    let by_level = part_field.says("by level");
    let part_of_the_time =
        if by_level || part_field.says("always") { None } else { part_field.quantity::<kind::Share>() };
    let cake_field = if by_level { map.must("cake at full time", "6 lb/h") } else { map.may("cake at full time") };
    let cake = cake_field.quantity::<kind::MassRate>();
    if cake_field.is_there() && !by_level {
        cake_field.refuse(
            "`cake at full time` belongs to a rinse by level",
            "write `part of the time: by level`, or take it out",
        );
    }
    let with = reader.wash_water(&map.must("with", "its own filtered water"));
    map.finish();
    Some(DrumRinse { flow: flow?, cake_at_full_time: cake, part_of_the_time, with: with?, to: to? })
}

impl Kind for MicroscreenDrum {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Rinse(&self.rinse)
    }

    fn through(&self) -> Through<'_> {
        self.mesh_area.as_ref().map_or(Through::NotSaid, Through::Mesh)
    }
}

#[cfg(test)]
mod tests {
    use crate::facility::kinds::trial;

    fn drum(rinse: &str) -> String {
        format!(
            "{{kind: microscreen drum, opening: 60 um, stops: not known, rinse water to: Pond, goes to: Pond, \
             rinse: {{flow: 12 gpm, {rinse}, with: its own filtered water}}}}"
        )
    }

    #[test]
    fn a_rinse_by_level_needs_the_cake_at_which_it_never_stops() {
        let (filter, _) = trial::filter(&drum("part of the time: by level, cake at full time: 6 lb/h"));
        assert!(filter.kind.rinse().unwrap().cake_at_full_time.is_some());
        let told = trial::problems(&drum("part of the time: by level"));
        assert!(told.contains("has no `cake at full time`"), "{told}");
        let told = trial::problems(&drum("part of the time: 30 %, cake at full time: 6 lb/h"));
        assert!(told.contains("belongs to a rinse by level"), "{told}");
    }
}
