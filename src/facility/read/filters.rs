//! The nine kinds of filter.

use uom::si::f64::{Length, Velocity, VolumeRate};

use super::flows::Context;
use super::places::{above_zero, times_a_day};
use super::washes;
use crate::facility::model::{
    Capture, CaptureRow, Deck, DrumRinse, Filter, FilterKind, HoseDown, MediaLayer, Roll, Screenings, Spray,
};
use crate::files::{Field, Fields, Given};
use crate::quantity::{self as q, ByMonth, kind};
use crate::told::Problem;

pub(super) fn filter<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Filter> {
    let mut map = field.fields()?;
    let words = FilterKind::WORDS.map(|word| (word, word));
    let kind_field = map.must("kind", "vibrating screen");
    let Some(kind) = kind_field.one_of(&words) else {
        // Without its kind, what else may be said is not known: the rest is not complained of.
        map.rest();
        return None;
    };
    let kind = kind.value;
    let beds = matches!(kind, "shallow media bed" | "deep media bed");
    let takes = map.may("takes from");
    let gives = map.may("goes to");
    let takes_from = context.sources(&takes);
    let goes_to = context.outflow(&gives);
    let whose = map.name();
    match (takes.is_there(), gives.is_there()) {
        (true, true) => context.problems.add(
            Problem::error(&gives.key_place, format!("{whose} says both `takes from` and `goes to`"))
                .hint("a filter that draws says `takes from`, and what draws from it names it; a filter that is flowed through says `goes to`")
                .related(&takes.key_place, "`takes from` is here"),
        ),
        (false, false) => context.problems.add(
            Problem::error(&map.place, format!("{whose} says neither `takes from` nor `goes to`, so its water has nowhere to go"))
                .hint("write `takes from: Storage pond` where it draws, or `goes to: Return tank` where water flows through it"),
        ),
        _ => {}
    }
    let turn = context.turn(&mut map);
    let opening_field = map.may("opening");
    let opening = if beds {
        if opening_field.is_there() {
            context.problems.add(
                Problem::error(&opening_field.key_place, "a media bed has no opening")
                    .hint("say the size of its grains in `media`: {grains: 0.9 mm}"),
            );
        }
        None
    } else {
        opening_field.by_month(|field| above_zero(field, |field| field.quantity::<kind::Size>()))
    };
    let has_decks = kind == "vibrating screen" && map.has("decks");
    let stops_field = if has_decks {
        map.may("stops")
    } else {
        map.must("stops", "{bigger than the opening: 90 %}, or a table {100 um: 80 %, 50 um: 30 %}, or: not known")
    };
    let stops = capture(&stops_field, opening_field.is_there() || has_decks);
    let handles_at_most = map.may("handles at most").quantity::<kind::Flow>();
    let over_field = map.may("above that goes to");
    let above_that = context.outflow(&over_field);
    if over_field.is_there() && handles_at_most.is_none() && !map.has("handles at most") {
        context.problems.add(
            Problem::error(&over_field.key_place, "above what? `handles at most` is missing")
                .hint("write it like `handles at most: 300 gpm`"),
        );
    }
    let screenings = screenings(context, &map.may("screenings"));
    let spent_media_to = context_bin(context, &map.may("spent media to"));
    let stands_still = map.may("stands still for").quantity::<kind::Time>();
    let motor = map.may("motor").quantity::<kind::Power>();
    let (what, bodies) = specific(context, &mut map, kind, &stops_field, opening.as_ref());
    let wash = matches!(kind, "pressure screen" | "shallow media bed" | "deep media bed")
        .then(|| washes::wash(context, &mut map, bodies, beds))
        .flatten();
    let change = matches!(kind, "bag" | "cartridge").then(|| washes::change(context, &mut map)).flatten();
    map.finish();
    if (takes.is_there() && takes_from.is_none())
        || (gives.is_there() && goes_to.is_none())
        || (over_field.is_there() && above_that.is_none())
    {
        return None;
    }
    let needs = match kind {
        "pressure screen" | "shallow media bed" | "deep media bed" => wash.is_some(),
        "bag" | "cartridge" => change.is_some(),
        _ => true,
    };
    needs.then_some(())?;
    Some(Filter {
        kind: what?,
        stops: if has_decks && !stops_field.is_there() { Capture::NotKnown } else { stops? },
        opening,
        handles_at_most,
        above_that,
        takes_from: takes_from.unwrap_or_default(),
        turn,
        goes_to,
        wash,
        change,
        screenings,
        spent_media_to,
        stands_still,
        motor,
    })
}

fn context_bin<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<crate::facility::model::PlaceId> {
    field.node()?;
    context.bin(field)
}

/// What only this kind has, and how many vessels or bodies it has.
fn specific<'a>(
    context: &Context<'a>,
    map: &mut Fields<'a>,
    kind: &str,
    stops: &Field<'a>,
    opening: Option<&ByMonth<Given<Length>>>,
) -> (Option<FilterKind>, u32) {
    let small = |field: Field<'a>, usual: u32| -> Option<u32> {
        if !field.is_there() {
            return Some(usual);
        }
        field.count(1, 1000).and_then(|said| u32::try_from(said.value).ok())
    };
    match kind {
        "gravity screen" => {
            let hosed = map.may("hosed down");
            let hosed_down = hose(context, &hosed);
            (Some(FilterKind::GravityScreen { hosed_down }), 1)
        }
        "vibrating screen" => {
            let deck_field = map.may("decks");
            let decks: Option<Vec<Deck>> = deck_field.list().iter().map(deck).collect();
            if deck_field.is_there() && (opening.is_some() || stops.is_there()) {
                context.problems.add(
                    Problem::error(&deck_field.key_place, "the decks are described twice")
                        .hint("keep `decks`, or `opening` with `stops` for a single deck"),
                );
            }
            let spray = spray(context, &map.may("spray"));
            (decks.map(|decks| FilterKind::VibratingScreen { decks, spray }), 1)
        }
        "pressure screen" => {
            let in_line = small(map.may("in line"), 1);
            let cleaned = map.must("cleaned", "by itself").one_of(&[("by itself", true), ("by hand", false)]);
            let kind = in_line
                .zip(cleaned)
                .map(|(in_line, cleaned)| FilterKind::PressureScreen { in_line, self_cleaning: cleaned.value });
            (kind, in_line.unwrap_or(1))
        }
        "moving media" => {
            let passes = map
                .must("when it runs out", "passes unfiltered")
                .one_of(&[("passes unfiltered", true), ("a new roll at once", false)]);
            let roll = roll(
                &map.must("roll", "{length: 1000 ft, width: 40 in, dry weight: 30 g/m2, holds: 80 g/m2}"),
                passes.is_none_or(|said| said.value),
            );
            let drip = map.may("drip to");
            let drip_to = context.outflow(&drip);
            (roll.map(|roll| FilterKind::MovingMedia { roll, drip_to }), 1)
        }
        "microscreen drum" => {
            let mesh_area = map.may("mesh area").quantity::<kind::Area>();
            let rinse = map.must("rinse", "{flow: 10 gpm, part of the time: always, with: its own filtered water}");
            let to = context.outflow(&map.must("rinse water to", "Settling pond"));
            let rinse = drum_rinse(context, &rinse, to);
            (rinse.map(|rinse| FilterKind::MicroscreenDrum { mesh_area, rinse }), 1)
        }
        "bag" => {
            let housings = small(map.must("housings", "2"), 1);
            let working_field = map.may("working at once");
            let working = small(working_field.clone(), housings.unwrap_or(1));
            if let (Some(working), Some(housings)) = (working, housings)
                && working > housings
            {
                working_field.refuse(
                    format!("{working} can't work at once where there are {housings} housings"),
                    "look at both counts",
                );
            }
            let mut bag_dry_weight = None;
            if let Some(mut bag) = map.may("bag").fields() {
                bag_dry_weight = bag.may("dry weight").quantity::<kind::Mass>();
                bag.may("price").text();
                bag.finish();
            }
            let kind = housings.zip(working).map(|(housings, working_at_once)| FilterKind::Bag {
                housings,
                working_at_once,
                bag_dry_weight,
            });
            (kind, 1)
        }
        "cartridge" => {
            let elements = small(map.must("elements", "6"), 1);
            (elements.map(|elements| FilterKind::Cartridge { elements }), 1)
        }
        _ => bed(map, kind),
    }
}

fn bed<'a>(map: &mut Fields<'a>, kind: &str) -> (Option<FilterKind>, u32) {
    let vessels = map.must("vessels", "4").count(1, 1000).and_then(|said| u32::try_from(said.value).ok());
    let diameter = above_zero(&map.must("diameter", "48 in"), |field| field.quantity::<kind::Length>());
    let layers_field = map.must("media", "[{kind: silica sand, depth: 14 in}]");
    let items = layers_field.list();
    if layers_field.is_list() && items.is_empty() {
        layers_field.refuse("a bed without media", "write it like [{kind: silica sand, depth: 14 in}]");
    }
    let media: Option<Vec<MediaLayer>> = items.iter().map(layer).collect();
    let bodies = vessels.unwrap_or(1);
    let air_scour = if kind == "deep media bed" {
        map.may("air scour").fields().and_then(|mut scour| {
            let lasts = scour.must("lasts", "3 min").quantity::<kind::Time>();
            scour.finish();
            lasts
        })
    } else {
        None
    };
    let what = match (vessels, diameter, media.filter(|layers| !layers.is_empty())) {
        (Some(vessels), Some(diameter), Some(media)) if kind == "deep media bed" => {
            Some(FilterKind::DeepMediaBed { vessels, diameter, media, air_scour })
        }
        (Some(vessels), Some(diameter), Some(media)) => Some(FilterKind::ShallowMediaBed { vessels, diameter, media }),
        _ => None,
    };
    (what, bodies)
}

fn layer(field: &Field<'_>) -> Option<MediaLayer> {
    let mut map = field.fields()?;
    let kind = map.must("kind", "silica sand").text();
    let depth = above_zero(&map.must("depth", "14 in"), |field| field.quantity::<kind::Length>());
    let grains = map.may("grains").quantity::<kind::Size>();
    let voids = map.may("voids").quantity::<kind::Share>();
    let density = map.may("density").quantity::<kind::Density>();
    let (mut load_held_times, mut wash_flow_times) = (None, None);
    if let Some(mut sand) = map.may("compared with sand").fields() {
        load_held_times = sand.may("load held").quantity::<kind::Multiple>();
        wash_flow_times = sand.may("wash flow").quantity::<kind::Multiple>();
        sand.finish();
    }
    map.finish();
    Some(MediaLayer { kind: kind?.value, depth: depth?, grains, voids, density, load_held_times, wash_flow_times })
}

fn deck(field: &Field<'_>) -> Option<Deck> {
    let mut map = field.fields()?;
    let opening = above_zero(&map.must("opening", "300 um"), |field| field.quantity::<kind::Size>());
    let stops = capture(&map.must("stops", "{bigger than the opening: 95 %}"), true);
    map.finish();
    Some(Deck { opening: opening?, stops: stops? })
}

/// `not known`, shares at the opening, one share for all, or a table of sizes.
fn capture(field: &Field<'_>, has_opening: bool) -> Option<Capture> {
    field.node()?;
    if field.says_not_known() {
        return Some(Capture::NotKnown);
    }
    let mut map = field.fields()?;
    if map.has("all solids") {
        let share = map.must("all solids", "45 % to 60 %").quantity::<kind::Share>();
        map.finish();
        return share.map(Capture::AllSolids);
    }
    if map.has("bigger than the opening") || map.has("smaller") {
        let bigger = map.must("bigger than the opening", "90 %").quantity::<kind::Share>();
        let smaller = map.may("smaller").quantity::<kind::Share>();
        map.finish();
        if !has_opening {
            field.refuse(
                "what is stopped is told by the opening, and no opening is given",
                "write `opening`, or a table of sizes: {100 um: 80 %, 50 um: 30 %}",
            );
            return None;
        }
        if let (Some(big), Some(small)) = (&bigger, &smaller)
            && let (Some((_, big_most)), Some((small_least, _))) = (big.ends(), small.ends())
            && small_least > big_most
        {
            field.problems().add(
                Problem::error(&small.place, "more is stopped of what is smaller than of what is bigger")
                    .hint("look at both shares"),
            );
        }
        return Some(Capture::AtOpening { bigger: bigger?, smaller });
    }
    let mut rows: Vec<CaptureRow> = Vec::new();
    let named = map.rest();
    let count = named.len();
    for (name, value) in named {
        match q::range::<kind::Size>(&name.value) {
            Ok(size) => {
                let size = Given { stated: q::Stated::Known(size), text: name.text, place: name.place, key: name.key };
                if let Some(share) = value.quantity::<kind::Share>() {
                    rows.push(CaptureRow { size, share });
                }
            }
            Err(_) => {
                let mut problem = Problem::error(&name.place, format!("`{}` is not known in `stops`", name.value));
                problem = problem
                    .hint("known here: `bigger than the opening`, `smaller`, `all solids`, or sizes such as `100 um`");
                field.problems().add(problem);
            }
        }
    }
    if count == 0 {
        field.refuse("nothing is said of what it stops", "write shares, or: not known");
    }
    if count == 0 || rows.len() != count {
        return None;
    }
    let mut sorted: Vec<&CaptureRow> = rows.iter().collect();
    sorted.sort_by(|a, b| {
        a.size
            .ends()
            .map(|e| e.0.value)
            .partial_cmp(&b.size.ends().map(|e| e.0.value))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    for pair in sorted.windows(2) {
        let [fine, coarse] = pair else { continue };
        if fine.size.ends() == coarse.size.ends() {
            field.problems().add(Problem::error(&coarse.size.place, "the same size twice").hint("keep one of them"));
            return None;
        }
        let falls = fine.share.ends().zip(coarse.share.ends()).is_some_and(|(fine, coarse)| fine.0 > coarse.1);
        if falls {
            field.problems().add(
                Problem::error(
                    &fine.share.place,
                    format!("more is stopped at {} than at {}", fine.size.text, coarse.size.text),
                )
                .hint("coarse solids are stopped at least as well as fine ones"),
            );
            return None;
        }
    }
    Some(Capture::Table(rows))
}

fn screenings<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Screenings> {
    let mut map = field.fields()?;
    let dry_solids = above_zero(&map.must("dry solids", "15 %"), |field| field.quantity::<kind::Share>());
    let to = context.bin(&map.must("to", "Screenings bin"));
    let drain = map.may("drains back to");
    let drains_back_to = if drain.is_there() { context.target(&drain) } else { None };
    map.finish();
    Some(Screenings { dry_solids: dry_solids?, to: to?, drains_back_to })
}

fn hose<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<HoseDown> {
    let mut map = field.fields()?;
    let flow = map.must("flow", "8 gpm").quantity::<kind::Flow>();
    let lasts = map.must("lasts", "5 min").quantity::<kind::Time>();
    let times = times_a_day(&map.must("times", "2 a day"));
    let with = context.store_or_supply(&map.must("with", "Town water"));
    let to = context.outflow(&map.must("goes to", "Settling pond"));
    map.finish();
    Some(HoseDown { flow: flow?, lasts: lasts?, times_a_day: times?, with: with?, to: to? })
}

fn spray<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Spray> {
    let mut map = field.fields()?;
    let flow = map.must("flow", "2 gpm").quantity::<kind::Flow>();
    let part = map.must("part of the time", "25 %").quantity::<kind::Share>();
    let with = context.store_or_supply(&map.must("with", "Town water"));
    map.finish();
    Some(Spray { flow: flow?, part_of_the_time: part?, with: with? })
}

fn roll(field: &Field<'_>, passes_unfiltered: bool) -> Option<Roll> {
    let mut map = field.fields()?;
    let length = above_zero(&map.must("length", "1000 ft"), |field| field.quantity::<kind::Length>());
    let width = above_zero(&map.must("width", "40 in"), |field| field.quantity::<kind::Length>());
    let dry_weight = map.must("dry weight", "30 g/m2").quantity::<kind::ArealMass>();
    let holds = above_zero(&map.must("holds", "80 g/m2"), |field| field.quantity::<kind::ArealMass>());
    let at_least = map.may("at least").quantity::<kind::DepthRate>();
    let wet_weight_times = map.may("wet weight").quantity::<kind::TimesDry>();
    map.finish();
    Some(Roll {
        length: length?,
        width: width?,
        dry_weight: dry_weight?,
        holds: holds?,
        at_least,
        wet_weight_times,
        passes_unfiltered,
    })
}

fn drum_rinse<'a>(
    context: &Context<'a>,
    field: &Field<'a>,
    to: Option<crate::facility::model::Outflow>,
) -> Option<DrumRinse> {
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
    let with = washes::wash_water(context, &map.must("with", "its own filtered water"));
    map.finish();
    Some(DrumRinse { flow: flow?, cake_at_full_time: cake, part_of_the_time, with: with?, to: to? })
}

/// A rate of a wash: a flow, or a flow over the area of the vessel.
pub(super) fn rate(field: &Field<'_>) -> (Option<Given<VolumeRate>>, Option<Given<Velocity>>) {
    let over_area = field.plain_text().is_some_and(|text| q::range::<kind::Flux>(text).is_ok());
    if over_area { (None, field.quantity::<kind::Flux>()) } else { (field.quantity::<kind::Flow>(), None) }
}
