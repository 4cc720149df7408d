//! Filters: the keys that all kinds share, and what a kind reads its own with.

use super::flows::Context;
use super::places::above_zero;
use super::washes;
use crate::facility::kinds::{self, FilterKind, Opening, Row};
use crate::facility::model::{Capture, CaptureRow, Change, Filter, Outflow, PlaceId, Screenings, Wash, WashWater};
use crate::files::{Field, Fields, Given};
use crate::quantity::{self as q, kind};
use crate::told::Problem;

/// What a kind reads its own keys with, after those that all kinds share.
pub(in crate::facility) struct Reader<'r, 'a> {
    /// The filter's map.
    pub(in crate::facility) map: Fields<'a>,
    /// Whether `stops` or an opening is typed.
    pub(in crate::facility) stops_said: bool,
    context: &'r Context<'a>,
    wash: Option<Wash>,
    change: Option<Change>,
    /// Whether all washes and changes that were asked for could be read.
    whole: bool,
}

impl<'a> Reader<'_, 'a> {
    /// Where a flow goes.
    pub(in crate::facility) fn outflow(&self, field: &Field<'a>) -> Option<Outflow> {
        self.context.outflow(field)
    }

    /// A supply, tank or pond that water is drawn from.
    pub(in crate::facility) fn store_or_supply(&self, field: &Field<'a>) -> Option<PlaceId> {
        self.context.store_or_supply(field)
    }

    /// Which water washes.
    pub(in crate::facility) fn wash_water(&self, field: &Field<'a>) -> Option<WashWater> {
        washes::wash_water(self.context, field)
    }

    /// A number of pieces; the usual one where nothing is typed.
    pub(in crate::facility) fn number(&self, field: &Field<'a>, usual: u32) -> Option<u32> {
        if !field.is_there() {
            return Some(usual);
        }
        field.count(1, 1000).and_then(|said| u32::try_from(said.value).ok())
    }

    /// The keys of washes; `each` is the word for one of its bodies, and they are washed one after another.
    pub(in crate::facility) fn washes(&mut self, each: &str, bodies: u32) {
        self.wash = washes::wash(self.context, &mut self.map, each, bodies);
        self.whole &= self.wash.is_some();
    }

    /// The keys of changes.
    pub(in crate::facility) fn changes(&mut self) {
        self.change = washes::change(self.context, &mut self.map);
        self.whole &= self.change.is_some();
    }
}

pub(super) fn filter<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Filter> {
    let mut map = field.fields()?;
    let words: Vec<(&str, Row)> = FilterKind::READ.iter().map(|row| (row.0.words, *row)).collect();
    let kind_field = map.must("kind", "vibrating screen");
    for (kind, processes) in kinds::MEANT {
        if let Some(process) = processes.iter().find(|process| kind_field.says(process)) {
            kind_field.refuse(format!("{process} is done by a {kind}"), format!("write `kind: {kind}`"));
            map.rest();
            return None;
        }
    }
    let Some(kind) = kind_field.one_of(&words) else {
        // Without its kind, what else may be said is not known: the rest is not complained of.
        map.rest();
        return None;
    };
    let (declared, read) = kind.value;
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
        // `from` or `to` alone is told as a key that is not known.
        (false, false) if map.has("from") || map.has("to") => {}
        (false, false) => context.problems.add(
            Problem::error(&map.place, format!("{whose} says neither `takes from` nor `goes to`, so its water has nowhere to go"))
                .hint("write `takes from: Storage pond` where it draws, or `goes to: Return tank` where water flows through it"),
        ),
        _ => {}
    }
    let turn = context.turn(&mut map);
    let opening_field = map.may("opening");
    let opening = match declared.opening {
        Opening::Typed => opening_field.by_month(|field| above_zero(field, |field| field.quantity::<kind::Size>())),
        Opening::None { told, hint } => {
            if opening_field.is_there() {
                context.problems.add(Problem::error(&opening_field.key_place, told).hint(hint));
            }
            None
        }
    };
    let says_itself = declared.in_place_of_stops.is_some_and(|key| map.has(key));
    let stops_field = if says_itself {
        map.may("stops")
    } else {
        map.must("stops", "{bigger than the opening: 90 %}, or a table {100 um: 80 %, 50 um: 30 %}, or: not known")
    };
    let stops = stops(&stops_field, opening_field.is_there() || says_itself);
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
    let stops_said = opening.is_some() || stops_field.is_there();
    let mut reader = Reader { map, stops_said, context, wash: None, change: None, whole: true };
    let what = read(&mut reader);
    let Reader { map, wash, change, whole, .. } = reader;
    map.finish();
    if (takes.is_there() && takes_from.is_none())
        || (gives.is_there() && goes_to.is_none())
        || (over_field.is_there() && above_that.is_none())
    {
        return None;
    }
    whole.then_some(())?;
    Some(Filter {
        kind: what?,
        stops: if says_itself && !stops_field.is_there() { Capture::NotKnown } else { stops? },
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

fn context_bin<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<PlaceId> {
    field.node()?;
    context.bin(field)
}

/// `not known`, shares at the opening, one share for all, or a table of sizes.
pub(in crate::facility) fn stops(field: &Field<'_>, has_opening: bool) -> Option<Capture> {
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
