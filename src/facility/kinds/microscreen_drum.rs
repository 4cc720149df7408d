//! Microscreen drum: rinsed all the time, a fixed part of it, or by level; the rinse carries away what it stops.

use uom::si::f64::Area;

use super::{Declared, DrumRinse, InFile, Kind, Opening, Sheds, Through};
use crate::facility::model::Outflow;
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::AnyFilter;
use crate::facility::read::keys;
use crate::facility::sentences::Speaker;
use crate::files::shapes::{Either, Name, Quantity, Words};
use crate::files::{Declares, Field, Given, Map, Of, declare, words};
use crate::quantity::kind;

/// A microscreen drum.
#[derive(Debug, Clone)]
pub struct MicroscreenDrum {
    /// Mesh area.
    pub mesh_area: Option<Given<Area>>,
    /// The rinse.
    pub rinse: DrumRinse,
}

declare! {
    /// A drum with a fine mesh.
    Keys, "microscreen drum" with AnyFilter;
    MESH = may "mesh area": Quantity<kind::Area>, "40 ft2", "The area of its mesh";
    RINSE = must "rinse": Of<DrumRinseKeys>, "{flow: 10 gpm, part of the time: always, with: its own filtered water}",
        "How it is rinsed";
    RINSE_TO = must "rinse water to": keys::Outflow, "Settling pond", "Where the rinse water goes";
}

declare! {
    /// The rinse of a drum.
    DrumRinseKeys, "rinse of a drum";
    FLOW = must "flow": Quantity<kind::Flow>, "10 gpm", "The rinse's flow";
    PART = must "part of the time": Either<Words<RinseWords>, Quantity<kind::Share>>, "always",
        "The part of the time that it runs, always, or by level";
    CAKE = may "cake at full time": Quantity<kind::MassRate>, "6 lb/h",
        "The solids at which a rinse by level runs all the time";
    WITH = must "with": Name, "its own filtered water", "The water";
}

words! {
    /// When a drum is rinsed.
    RinseWords: bool, "always" => false, "by level" => true;
}

impl InFile for MicroscreenDrum {
    const DECLARED: Declared = Declared {
        words: "microscreen drum",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: None,
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let mesh_area = reader.map.get(&Keys::MESH).quantity::<kind::Area>();
        let rinse = reader.map.get(&Keys::RINSE);
        let to = reader.map.get(&Keys::RINSE_TO);
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
    let flow = map.get(&DrumRinseKeys::FLOW).quantity::<kind::Flow>();
    let part_field = map.get(&DrumRinseKeys::PART);
    let by_level = part_field.says("by level");
    let part_of_the_time =
        if by_level || part_field.says("always") { None } else { part_field.quantity::<kind::Share>() };
    let cake_field = if by_level { map.needs(&DrumRinseKeys::CAKE) } else { map.get(&DrumRinseKeys::CAKE) };
    let cake = cake_field.quantity::<kind::MassRate>();
    if cake_field.is_there() && !by_level {
        cake_field.refuse(
            "`cake at full time` belongs to a rinse by level",
            "write `part of the time: by level`, or take it out",
        );
    }
    let with = reader.wash_water(&map.get(&DrumRinseKeys::WITH));
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
    use super::*;
    use crate::facility::kinds::trial;

    fn drum(rinse: &str) -> String {
        format!(
            "{{kind: microscreen drum, opening: 60 um, stops: not known, rinse water to: Pond, goes to: Pond, \
             rinse: {{flow: 12 gpm, {rinse}, with: its own filtered water}}}}"
        )
    }

    #[test]
    fn its_own_keys_are_those_that_are_read() {
        trial::keys_are_read("{kind: microscreen drum, rinse: {?}}", DrumRinseKeys::MAP);
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
