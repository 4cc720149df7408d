//! Values that many places share: where a flow goes, where water is drawn, when, and what is in it.

use uom::si::f64::{Ratio, Time, VolumeRate};

use super::keys::{self, Drawn, ShareOf};
use super::names::{Names, Section};
use crate::facility::model::{Concentrations, Outflow, PlaceId, Share, Step, UseAmount, When};
use crate::files::{Field, Fields, Given};
use crate::quantity::{self as q, DateRange, Range, Stated, kind};
use crate::told::{Problem, Problems, nearest};

/// What reading a place needs to know of the rest of the file.
pub(super) struct Context<'a> {
    pub(super) names: Names<'a>,
    pub(super) seasons: Vec<String>,
    pub(super) solids: Vec<String>,
    pub(super) dissolved: Vec<String>,
    pub(super) problems: &'a Problems,
}

impl<'a> Context<'a> {
    /// A place that a flow may go to.
    pub(super) fn target(&self, field: &Field<'a>) -> Option<PlaceId> {
        let id = self.names.resolve(field)?;
        let named = self.names.get(id)?;
        let name = &named.name;
        let hint = match named.section {
            Section::Filter | Section::Tank | Section::Pond | Section::DischargePoint => {
                return Some(id);
            }
            Section::Use | Section::Transfer => {
                format!("put a tank between: the flow goes to the tank, and `{name}` says `takes from` the tank")
            }
            Section::Supply => "name a tank, a pond or a discharge point".to_string(),
            Section::Catchment => "rain falls on it; name a pond, a filter or a discharge point".to_string(),
        };
        field.refuse(format!("a flow can't go to `{name}`, which is {}", named.section.a()), hint);
        None
    }

    /// A place that water may be drawn from.
    pub(super) fn source(&self, field: &Field<'a>) -> Option<PlaceId> {
        let id = self.names.resolve(field)?;
        let named = self.names.get(id)?;
        let name = &named.name;
        let hint = match named.section {
            Section::Supply | Section::Filter | Section::Tank | Section::Pond => return Some(id),
            Section::Catchment => format!("`{name}` runs off into a pond or tank; draw from that"),
            Section::Use => {
                format!("what comes back from `{name}` goes to a tank or pond; draw from that")
            }
            Section::Transfer => "draw from the place that it fills".to_string(),
            Section::DischargePoint => {
                "what goes there has left the site; draw from a supply, a tank or a pond".to_string()
            }
        };
        field.refuse(format!("nothing can be drawn from `{name}`, which is {}", named.section.a()), hint);
        None
    }

    /// A place that water may be drawn from straight, not through a filter.
    pub(super) fn store_or_supply(&self, field: &Field<'a>) -> Option<PlaceId> {
        let id = self.source(field)?;
        if self.names.section(id) == Some(Section::Filter) {
            let name = self.names.get(id).map(|named| named.name.clone()).unwrap_or_default();
            field.refuse(
                format!("`{name}` is a filter and holds no water to draw here"),
                "name a supply, a tank or a pond",
            );
            return None;
        }
        Some(id)
    }

    /// A place that solids may be carried to.
    pub(super) fn bin(&self, field: &Field<'a>) -> Option<PlaceId> {
        let id = self.names.resolve(field)?;
        let named = self.names.get(id)?;
        if matches!(named.section, Section::DischargePoint | Section::Tank) {
            return Some(id);
        }
        field.refuse(
            format!("what is caught can't be put in `{}`, which is {}", named.name, named.section.a()),
            "name a discharge point of kind `hauled away`, or a pit listed among the tanks",
        );
        None
    }

    /// Sources in order: a name or a list of names.
    pub(super) fn sources(&self, field: &Field<'a>) -> Option<Vec<PlaceId>> {
        field.node()?;
        let mut ids: Vec<PlaceId> = Vec::new();
        let mut whole = true;
        for item in field.one_or_more() {
            match self.source(&item) {
                Some(id) if ids.contains(&id) => {
                    item.refuse("the same source twice", "name each source once, in the order they are tried");
                    whole = false;
                }
                Some(id) => ids.push(id),
                None => whole = false,
            }
        }
        if whole && ids.is_empty() {
            field.refuse("no source is named", "write a name, or [first, second]");
        }
        (whole && !ids.is_empty()).then_some(ids)
    }

    /// Where a flow goes: a name, a list tried in order, or a map of shares.
    pub(super) fn outflow(&self, field: &Field<'a>) -> Option<Outflow> {
        field.node()?;
        if field.is_list() {
            return self.in_order(field);
        }
        if !field.is_map() {
            return self
                .target(field)
                .map(|to| Outflow::InOrder(vec![Step { to, place: field.place(), at_most: None }]));
        }
        let map = field.fields()?;
        if map.has(keys::Step::TO) {
            let step = self.step(field)?;
            return self.last_has_no_limit(field, vec![step]);
        }
        self.shares(field)
    }

    fn step(&self, field: &Field<'a>) -> Option<Step> {
        if !field.is_map() {
            return self.target(field).map(|to| Step { to, place: field.place(), at_most: None });
        }
        let mut map = field.map::<keys::Step>()?;
        let to_field = map.get(&keys::Step::TO);
        let to = self.target(&to_field);
        let limit = map.get(&keys::Step::AT_MOST);
        let at_most = limit.read();
        map.finish();
        if limit.is_there() && at_most.is_none() {
            return None;
        }
        Some(Step { to: to?, place: to_field.place(), at_most })
    }

    fn in_order(&self, field: &Field<'a>) -> Option<Outflow> {
        let mut steps: Vec<Step> = Vec::new();
        let mut whole = true;
        for item in field.list() {
            match self.step(&item) {
                Some(step) if steps.iter().any(|other| other.to == step.to) => {
                    item.refuse("the same place twice in one list", "name each place once");
                    whole = false;
                }
                Some(step) => steps.push(step),
                None => whole = false,
            }
        }
        if !whole {
            return None;
        }
        if steps.is_empty() {
            field.refuse(
                "no place is named, so this water has nowhere to go",
                "write a name, or [{to: first, at most: 60 gpm}, second]",
            );
            return None;
        }
        for (step, item) in steps.iter().zip(field.list()).take(steps.len() - 1) {
            if step.at_most.is_none() {
                item.refuse(
                    "this place takes everything, so what follows it gets nothing",
                    "give it `at most`, or put it last",
                );
                whole = false;
            }
        }
        if whole { self.last_has_no_limit(field, steps) } else { None }
    }

    fn last_has_no_limit(&self, field: &Field<'a>, steps: Vec<Step>) -> Option<Outflow> {
        if let Some(last) = steps.last()
            && let Some(limit) = &last.at_most
        {
            let name = self.names.get(last.to).map(|named| named.name.clone()).unwrap_or_default();
            self.problems.add(
                Problem::error(&limit.place, format!("water has nowhere to go when more than {} comes", limit.text))
                    .hint(format!("name another place after `{name}`, without `at most`")),
            );
            let _ = field;
            return None;
        }
        Some(Outflow::InOrder(steps))
    }

    fn shares(&self, field: &Field<'a>) -> Option<Outflow> {
        let mut shares: Vec<Share> = Vec::new();
        let mut rest = None;
        let mut whole = true;
        for (name, value) in field.named_at_most(100) {
            let to = self.names.find(&name.value, &name.place);
            let to = to.filter(|id| {
                let fits = self.names.section(*id).is_some_and(|section| {
                    matches!(section, Section::Filter | Section::Tank | Section::Pond | Section::DischargePoint)
                });
                if !fits {
                    let a = self.names.section(*id).map_or("", Section::a);
                    self.problems.add(
                        Problem::error(&name.place, format!("a flow can't go to `{}`, which is {a}", name.value))
                            .hint("put a tank between, and draw from the tank"),
                    );
                }
                fits
            });
            let (share_field, limit) = match value.is_map().then(|| value.map::<ShareOf>()).flatten() {
                Some(mut map) => {
                    let pair = (map.get(&ShareOf::SHARE).field(), map.read(&ShareOf::AT_MOST));
                    map.finish();
                    pair
                }
                None => (value.clone(), None),
            };
            let share = if share_field.says("the rest") || share_field.says("rest") {
                if rest.is_some() {
                    share_field.refuse("`the rest` twice", "only one place takes the rest");
                    whole = false;
                }
                rest = Some(shares.len());
                None
            } else {
                let share = share_field.known::<kind::Share>();
                whole &= share.is_some();
                share
            };
            match to {
                Some(to) => shares.push(Share { to, place: name.place, share, at_most: limit }),
                None => whole = false,
            }
        }
        if !whole {
            return None;
        }
        if shares.is_empty() {
            field.refuse(
                "no place is named, so this water has nowhere to go",
                "write a name, or {first: 80 %, second: the rest}",
            );
            return None;
        }
        let (low, high) = shares
            .iter()
            .filter_map(|share| share.share.as_ref().and_then(Given::ends))
            .fold((0.0, 0.0), |(low, high), (l, h)| (low + l.value, high + h.value));
        if high > 1.0 + 1e-9 {
            field.refuse(
                format!("these shares come to {} %", q::significant(high * 100.0, 4)),
                "they can't come to more than 100 %",
            );
            return None;
        }
        if rest.is_none() && low < 1.0 - 1e-9 {
            field.refuse(
                format!(
                    "these shares come to {} %, and the water left has nowhere to go",
                    q::significant(low * 100.0, 4)
                ),
                "write `the rest` for one of the places",
            );
            return None;
        }
        let rest = rest.unwrap_or(shares.len() - 1);
        if let Some(limit) = shares.get(rest).and_then(|share| share.at_most.as_ref()) {
            self.problems.add(
                Problem::error(&limit.place, "the place that takes the rest has a limit, so water has nowhere to go")
                    .hint("take its `at most` out"),
            );
            return None;
        }
        Some(Outflow::Shares { shares, rest })
    }

    /// `{season: growing, days: Mon to Sat, not when rain over: 0.4 in}`.
    pub(super) fn when(&self, field: &Field<'a>) -> Option<When> {
        let mut map = field.map::<keys::When>()?;
        let mut when = When::default();
        if let Some(season) = map.read(&keys::When::SEASON) {
            if self.seasons.contains(&season.value) {
                when.season = Some((season.value, season.place));
            } else {
                let known = self.seasons.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
                let hint = match nearest(&season.value, self.seasons.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None if known.is_empty() => "name it first under `seasons`".to_string(),
                    None => format!("the seasons of this file: {known}"),
                };
                self.problems.add(
                    Problem::error(&season.place, format!("there is no season called `{}`", season.value)).hint(hint),
                );
            }
        }
        for key in [keys::When::DAYS_OF_YEAR, keys::When::DATES] {
            match map.read(&key).map(|said| said.value) {
                Some(DateRange::Yearly(span)) => when.days_of_year = Some(span),
                Some(DateRange::Dates { first, last }) => when.dates = Some((first, last)),
                None => {}
            }
        }
        when.days = map.read(&keys::When::DAYS).map(|said| said.value);
        when.not_when_rain_over = map.read(&keys::When::RAIN);
        map.finish();
        Some(when)
    }

    /// `{yard silt: 80 mg/L to 400 mg/L}` of the kinds of solids and, where `dissolved` says so, dissolved constituents.
    pub(super) fn concentrations(&self, field: &Field<'a>, solids: bool, dissolved: bool) -> Concentrations {
        let mut out = Concentrations::new();
        for (name, value) in field.named_at_most(100) {
            let known = || {
                let solids = self.solids.iter().filter(|_| solids);
                solids.chain(self.dissolved.iter().filter(|_| dissolved)).map(String::as_str)
            };
            if !known().any(|word| word == name.value) {
                let sections = match (solids, dissolved) {
                    (true, false) => "`solids`",
                    (false, true) => "`dissolved`",
                    _ => "`solids` or `dissolved`",
                };
                let hint = match nearest(&name.value, known()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("describe it under {sections} first"),
                };
                self.problems.add(
                    Problem::error(&name.place, format!("`{}` is not described under {sections}", name.value))
                        .hint(hint),
                );
                continue;
            }
            if let Some(given) = value.quantity::<kind::Concentration>() {
                out.push((name.value, given));
            }
        }
        out
    }

    /// `turn: 2`; 1 when it is not typed.
    pub(super) fn turn(&self, map: &mut Fields<'a>) -> u32 {
        map.read(&Drawn::TURN).and_then(|said| u32::try_from(said.value).ok()).unwrap_or(1)
    }

    /// `runs: 8 h/day` as the time the water flows in a day.
    pub(super) fn runs(&self, field: &Field<'a>) -> Option<Given<Time>> {
        let given = field.quantity::<kind::PartOfDay>()?;
        let day = Time::new::<uom::si::time::day>(1.0);
        if given.ends().is_some_and(|(low, _)| low.value <= 0.0) {
            field.refuse("water that never flows", "write how long it flows, such as 4 h/day");
            return None;
        }
        Some(map_given(given, |part: Ratio| part * day))
    }

    /// `amount: 600 gal/day`, or a flow while it runs: `25 gpm` with `runs: 20 h/day`. The volume in a day.
    pub(super) fn daily_amount(&self, field: &Field<'a>, runs: Option<&Given<Time>>) -> Option<UseAmount> {
        let given = field.quantity::<kind::DailyVolume>()?;
        let by_day = q::ends(&given.text, &q::Expected::of::<kind::DailyVolume>())
            .is_ok_and(|(low, _)| low.unit.name.ends_with("/day") || low.unit.name == q::units::MGD.name);
        let day = Time::new::<uom::si::time::day>(1.0);
        match (by_day, runs.and_then(Given::ends)) {
            (false, Some((least, most))) => Some(UseAmount::PerDay(scaled(given, least / day, most / day))),
            _ => Some(UseAmount::PerDay(given)),
        }
    }
}

/// The same value in another quantity.
pub(super) fn map_given<A: Copy, B: Copy>(given: Given<A>, change: impl Fn(A) -> B) -> Given<B> {
    Given {
        stated: match given.stated {
            Stated::Known(range) => Stated::Known(Range { low: change(range.low), high: change(range.high) }),
            Stated::NotKnown => Stated::NotKnown,
        },
        text: given.text,
        place: given.place,
        key: given.key,
    }
}

fn scaled(given: Given<VolumeRate>, low: Ratio, high: Ratio) -> Given<VolumeRate> {
    Given {
        stated: match given.stated {
            Stated::Known(range) => Stated::Known(Range { low: range.low * low, high: range.high * high }),
            Stated::NotKnown => Stated::NotKnown,
        },
        ..given
    }
}
