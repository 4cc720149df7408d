//! The duties file: what the pond must do and the ground there is, in a grower's words.

mod forebay;
mod ground;
mod keys;
mod pool;
mod unit_prices;

use crate::files::schema::document;
use crate::files::shapes::{Known, Ratio};
use crate::files::yaml::Node;
use crate::files::{Field, Fields, Keyed, Said};
use crate::quantity::{Kind, Misread, Span, kind, number};
use crate::told::{Place, Problem, Problems};

use super::duties::{
    CleanOutDuty, CurvePeak, DetentionDuty, Drawdown, Duties, Figure, Hold, Objective, OverflowDuty, Plot, SettleDuty,
    ShortageDuty, SpillDuty, SpillsJudgedOn, Steps, StormDepth, StormDuty, StormFrom, UnitPrices,
};
use forebay::{forebay, spillway};
use ground::ground;
use keys::{
    CleanOut, DUTIES, Depths, Detention, File, HELD, Letting, Overflow, Row, Settle, Shortage, Spills, Storm,
    StormTime, WholeDays, WholeYears,
};
use pool::pool;
use unit_prices::{prices, steps, unpriced};

/// The name of the duties file in a site's folder.
pub const DUTIES_FILE: &str = "basin.yaml";

/// A freeboard is seldom less, m: common practice, no source.
const LEAST_FREEBOARD_M: f64 = 0.3;

/// Days of a year on average.
const DAYS_A_YEAR: f64 = 365.25;

/// The JSON Schema of a duties file.
pub fn schema() -> serde_json::Value {
    document::<File>("Basin: what a pond must do, and the ground there is for it")
}

/// Reads the duties; what is wrong is told, all of it.
pub fn read(tree: &Node, problems: &Problems) -> Option<Duties> {
    let before = problems.errors();
    let mut file = Fields::of::<File>(tree, problems)?;
    let pond = file.read(&File::POND);
    let proposal = file.read(&File::PROPOSAL);
    let plot = plot(&file.get(&File::PLOT));
    let freeboard = figure(&file.get(&File::FREEBOARD));
    if let Some(low) = freeboard.as_ref().filter(|freeboard| freeboard.si < LEAST_FREEBOARD_M) {
        let none = if low.si > 0.0 { "little freeboard" } else { "no freeboard" };
        problems.add(
            Problem::warning(
                &low.place,
                format!("{none}: waves, settling of the bank and a blocked spillway put water over it"),
            )
            .hint("1 ft or 0.3 m above the highest water is the least that is usual (common practice, no source)"),
        );
    }
    let ground = ground(&file.get(&File::GROUND), plot.as_ref(), freeboard.as_ref());
    let (pool, pool_range) = pool(&file.get(&File::POOL)).unzip();
    let cells = file.read(&File::CELLS);
    let settle = settle(&file.get(&File::SETTLE));
    let overflow_rate = overflow_rate(&file.get(&File::OVERFLOW));
    let detention = detention(&file.get(&File::DETENTION));
    let hold = hold(&file.get(&File::HOLD));
    let table = depths(&file.get(&File::DEPTHS));
    let storm = storm(&file.get(&File::STORM), table.as_ref());
    let spills = spills(&file.get(&File::SPILLS));
    let clean_out = clean_out(&file.get(&File::CLEAN_OUT));
    let forebay = forebay(&file.get(&File::FOREBAY), pool.as_ref());
    let spillway = spillway(&file.get(&File::SPILLWAY), freeboard.as_ref());
    let shortage = shortage(&file.get(&File::SHORTAGE));
    let least = file.read(&File::LEAST);
    let prices = prices(&file.get(&File::COST), file.has(File::GROUND));
    let steps = steps(&file.get(&File::STEPS));
    if let Some(least) = &least
        && least.value == Objective::Cost
        && !file.has(File::COST)
    {
        problems.add(
            Problem::error(&least.place, "the least cost is asked for, and nothing says what digging and lining cost")
                .hint("write `cost: {dug: 6 USD per m3, lined: 9 USD per m2}`"),
        );
    }
    if let (Some(least), Some(prices)) = (&least, &prices)
        && least.value == Objective::Cost
        && file.has(File::GROUND)
    {
        unpriced(prices, least, problems);
    }
    if !DUTIES.iter().any(|duty| file.has(duty)) {
        problems.add(
            Problem::error(&file.place, "no duty is given, so any puddle would do")
                .hint(format!("give at least one of: {}", DUTIES.map(|duty| format!("`{duty}`")).join(", "))),
        );
    }
    file.finish();
    if problems.errors() > before {
        return None;
    }
    Some(Duties {
        file: tree.place.file.to_string(),
        pond,
        proposal,
        plot: plot?,
        freeboard: freeboard?,
        ground,
        pool,
        pool_range: pool_range.flatten(),
        cells,
        settle,
        hold,
        storm,
        spills,
        overflow_rate,
        detention,
        clean_out,
        forebay,
        spillway,
        shortage,
        least: least?.value,
        prices,
        steps,
    })
}

/// One figure: a design needs one, so a range is refused.
fn figure<K: Kind>(field: &Keyed<'_, Known<K>>) -> Option<Figure> {
    figure_of::<K>(field)
}

fn figure_of<K: Kind>(field: &Field<'_>) -> Option<Figure> {
    let given = field.known::<K>()?;
    let range = given.stated.known()?;
    if K::to_si(range.low) != K::to_si(range.high) {
        field.refuse("a design needs one figure here, not a range", "take the end that asks more of the pond");
        return None;
    }
    Some(Figure { si: K::to_si(range.low), text: given.text, place: given.place })
}

/// One figure above zero.
fn above_zero<K: Kind>(field: &Keyed<'_, Known<K>>) -> Option<Figure> {
    above_zero_of::<K>(field)
}

fn above_zero_of<K: Kind>(field: &Field<'_>) -> Option<Figure> {
    let figure = figure_of::<K>(field)?;
    if figure.si > 0.0 {
        return Some(figure);
    }
    field.refuse("this can't be zero", format!("write {}, such as {}", K::WHAT, K::EXAMPLE));
    None
}

/// A ratio of the larger part to the smaller. Written the other way round it is asked about: `1 to 3` is mostly meant as
/// 3 to 1; so much to 1 is taken as it stands.
fn ratio(field: &Keyed<'_, Ratio>, less: &str) -> Option<Figure> {
    let given = field.read()?;
    let to_one = given.text.rsplit([':', ' ']).next().is_some_and(|last| last.trim() == "1");
    match given.ends() {
        Some((low, high)) if low == high && low.value < 1.0 && !to_one => {
            let turned = 1.0 / low.value;
            let number = |value: f64| format!("{}", (value * 1000.0).round() / 1000.0);
            field.refuse(
                format!("is `{}` meant the other way round? As it stands {less}", given.text),
                format!("write {} to 1, or, if it is meant, {} to 1", number(turned), number(low.value)),
            );
            None
        }
        Some((low, high)) if low == high && low.value >= 0.0 => {
            Some(Figure { si: low.value, text: given.text, place: given.place })
        }
        _ => {
            field.refuse("a design needs one ratio here", "write it like 3 to 1");
            None
        }
    }
}

fn plot(field: &Field<'_>) -> Option<Plot> {
    let mut fields = field.map::<keys::Plot>()?;
    let longest = above_zero(&fields.get(&keys::Plot::LONGEST));
    let widest = above_zero(&fields.get(&keys::Plot::WIDEST));
    let deepest = above_zero(&fields.get(&keys::Plot::DEEPEST));
    let steepest = ratio(
        &fields.get(&keys::Plot::STEEPEST),
        "sides rise higher than they run: run comes first, and earth does not stand so steep",
    );
    let length_to_width = ratio(&fields.get(&keys::Plot::LENGTH_TO_WIDTH), "the pond may be wider than it is long");
    let floor = above_zero(&fields.get(&keys::Plot::FLOOR));
    let bank = figure(&fields.get(&keys::Plot::BANK));
    fields.finish();
    Some(Plot {
        longest: longest?,
        widest: widest?,
        deepest: deepest?,
        steepest: steepest?,
        length_to_width,
        floor,
        bank,
    })
}

fn settle(field: &Field<'_>) -> Option<SettleDuty> {
    let mut fields = field.map::<Settle>()?;
    let particle = above_zero(&fields.get(&Settle::PARTICLE));
    let density = above_zero(&fields.get(&Settle::DENSITY));
    let temperature = figure(&fields.get(&Settle::TEMPERATURE));
    let share = above_zero(&fields.get(&Settle::SHARE));
    let flow_field = fields.get(&Settle::FLOW);
    let computed = flow_field.says("the computed peak") || flow_field.says("computed peak");
    let flow = if computed || !may_be_a_flow(&flow_field) { None } else { above_zero_of::<kind::Flow>(&flow_field) };
    let source = if computed {
        if fields.has(Settle::FLOW_FROM) {
            fields
                .get(&Settle::FLOW_FROM)
                .refuse("a peak that is worked out has no other source", "take this line out");
        }
        None
    } else if flow.is_none() {
        // What the flow is comes first; then where it is from.
        fields.get(&Settle::FLOW_FROM);
        None
    } else {
        fields.needs(&Settle::FLOW_FROM).read().map(|said| said.value)
    };
    let rain_at_peak = figure(&fields.get(&Settle::RAIN));
    if let Some(rain) = &rain_at_peak
        && flow.is_some()
    {
        fields.problems().add(
            Problem::error(&rain.place, "rain at the peak is asked for only where the peak is worked out")
                .hint("write `flow: the computed peak`, or take this line out"),
        );
    }
    let curve_peak = curve_peak(&mut fields, flow.is_some());
    if let Some(share) = &share
        && share.si >= 1.0
    {
        fields.problems().add(
            Problem::error(&share.place, "no pond settles all of it: stirring always lets a little pass")
                .hint("write a share below 100 %"),
        );
    }
    fields.finish();
    Some(SettleDuty {
        particle: particle?,
        density: density?,
        temperature: temperature?,
        share: share?,
        flow: if computed { None } else { Some(flow?) },
        flow_source: source,
        rain_at_peak,
        curve_peak,
        place: field.key_place.clone(),
    })
}

/// How the peak of ground with a curve number is worked out.
fn curve_peak(fields: &mut Fields<'_>, flow_is_typed: bool) -> Option<CurvePeak> {
    let share = above_zero(&fields.get(&Settle::SHARE_AT_PEAK));
    let time = above_zero(&fields.get(&Settle::CONCENTRATION));
    let kind = fields.read(&Settle::RAINFALL);
    let refuse = |place: &Place, text: &str, hint: &str| fields.problems().add(Problem::error(place, text).hint(hint));
    let first = [share.as_ref(), time.as_ref()].into_iter().flatten().map(|figure| &figure.place).next();
    if let Some(place) = first.filter(|_| flow_is_typed) {
        refuse(
            place,
            "this is asked for only where the peak is worked out",
            "write `flow: the computed peak`, or take this line out",
        );
        return None;
    }
    match (share, time, kind) {
        (Some(share), None, None) => Some(CurvePeak::Share(share)),
        (Some(share), ..) => {
            refuse(
                &share.place,
                "two methods are given for one peak",
                "keep the share (rational), or the time and the type (graphical)",
            );
            None
        }
        (None, Some(time), Some(kind)) => Some(CurvePeak::Graphical(time, kind.value)),
        (None, Some(time), None) => {
            refuse(
                &time.place,
                "the graphical method needs the type of rainfall too",
                "write `rainfall type: II`: the map in TR-55, appendix B, has it",
            );
            None
        }
        (None, None, Some(kind)) => {
            refuse(
                &kind.place,
                "the graphical method needs the time of concentration too",
                "write `time of concentration: 20 min`",
            );
            None
        }
        (None, None, None) => None,
    }
}

fn overflow_rate(field: &Field<'_>) -> Option<OverflowDuty> {
    let mut fields = field.map::<Overflow>()?;
    let most = above_zero(&fields.get(&Overflow::MOST));
    let flow = above_zero(&fields.get(&Overflow::FLOW));
    fields.finish();
    Some(OverflowDuty { most: most?, flow, place: field.key_place.clone() })
}

fn detention(field: &Field<'_>) -> Option<DetentionDuty> {
    let mut fields = field.map::<Detention>()?;
    let least = above_zero(&fields.get(&Detention::LEAST));
    let flow = above_zero(&fields.get(&Detention::FLOW));
    fields.finish();
    let least = least?;
    Some(DetentionDuty { hours: least.si / 3600.0, text: least.text, flow, place: field.key_place.clone() })
}

/// Whether a text begins like a flow; words that do not were perhaps meant for the peak, and what to write is told.
fn may_be_a_flow(field: &Field<'_>) -> bool {
    let words = field.plain_text().is_some_and(|text| !text.contains(|c: char| c.is_ascii_digit()));
    if words && !field.says_not_known() {
        field.refuse("this is not a flow", "write a flow with its unit, like 620 gpm, or: the computed peak");
        return false;
    }
    true
}

fn whole_days(field: &Keyed<'_, WholeDays>) -> Option<Said<u32>> {
    let said = field.read()?;
    match said.value.whole_days().and_then(|days| u32::try_from(days).ok()) {
        Some(days @ 1..=400) => Some(Said { value: days, text: said.text, place: said.place, key: said.key }),
        _ => {
            field.refuse("this is counted in whole days, 1 to 400", "write it like 2 days");
            None
        }
    }
}

fn hold(field: &Field<'_>) -> Option<Hold> {
    let mut fields = field.map::<keys::Hold>()?;
    let return_days = whole_days(&fields.get(&keys::Hold::RETURN_WATER));
    let wash_days = whole_days(&fields.get(&keys::Hold::WASH_WATER));
    let first_rain = above_zero(&fields.get(&keys::Hold::FIRST_RAIN));
    if !HELD.iter().any(|key| fields.has(key)) {
        field.refuse(
            "nothing is said of what it holds",
            "write {return water: 2 days, wash water: 1 day, first rain: 0.5 in}",
        );
    }
    fields.finish();
    Some(Hold { return_days, wash_days, first_rain, place: field.key_place.clone() })
}

/// The user's table and who made it.
type Table = (String, Vec<StormDepth>);

fn depths(field: &Field<'_>) -> Option<Table> {
    let mut fields = field.map::<Depths>()?;
    let source = fields.read(&Depths::SOURCE);
    let mut rows: Vec<StormDepth> = Vec::new();
    for item in fields.get(&Depths::DEPTHS).list() {
        let Some(mut row) = item.map::<Row>() else {
            continue;
        };
        let every = years(&row.get(&Row::EVERY));
        let lasting = hours(&row.get(&Row::LASTING));
        let depth = above_zero(&row.get(&Row::DEPTH));
        row.finish();
        if let (Some((every_years, _)), Some(lasting_h), Some(depth)) = (every, lasting, depth) {
            let twice = rows.iter().any(|other| other.every_years == every_years && other.lasting_h == lasting_h);
            if twice {
                item.refuse("this storm stands in the table twice", "strike the wrong one");
                continue;
            }
            rows.push(StormDepth { every_years, lasting_h, depth });
        }
    }
    fields.finish();
    Some((source?.value, rows))
}

fn years(field: &Keyed<'_, WholeYears>) -> Option<(u32, String)> {
    let said = field.read()?;
    match said.value {
        Span::Months(months @ 12..=12_000) if months % 12 == 0 => Some((months / 12, said.text)),
        _ => {
            field.refuse("this is counted in whole years", "write it like 25 years");
            None
        }
    }
}

fn hours(field: &Keyed<'_, StormTime>) -> Option<f64> {
    let said = field.read()?;
    match said.value {
        Span::Seconds(seconds @ 300..=2_592_000) => Some(seconds as f64 / 3600.0),
        _ => {
            field.refuse("a storm lasts five minutes to thirty days", "write it like 24 h");
            None
        }
    }
}

fn storm(field: &Field<'_>, table: Option<&Table>) -> Option<StormDuty> {
    let mut fields = field.map::<Storm>()?;
    let every = years(&fields.get(&Storm::EVERY));
    let lasting = hours(&fields.get(&Storm::LASTING));
    let from = from_level(&fields.get(&Storm::FROM));
    let room_on = above_zero(&fields.get(&Storm::ROOM_ON));
    let drawdown = drawdown(&fields.get(&Storm::DRAWDOWN));
    fields.finish();
    let ((every_years, _), lasting_h) = (every?, lasting?);
    let Some((source, rows)) = table else {
        field.refuse(
            "the depth of this storm is not given: no table of storm depths is in this file",
            "copy it from the table for your place: `storm depths: {source: …, depths: [{every: 25 years, lasting: 24 h, depth: 3.4 in}]}`",
        );
        return None;
    };
    let found = rows.iter().find(|row| row.every_years == every_years && row.lasting_h == lasting_h);
    let Some(found) = found else {
        let known: Vec<String> =
            rows.iter().map(|row| format!("every {} years lasting {} h", row.every_years, row.lasting_h)).collect();
        field.refuse(
            format!("the table of storm depths has no storm of every {every_years} years lasting {lasting_h} h"),
            if known.is_empty() {
                "add its row; depths between rows are not guessed".to_owned()
            } else {
                format!("it has: {}; depths between rows are not guessed", known.join(", "))
            },
        );
        return None;
    };
    Some(StormDuty {
        storm: found.clone(),
        from: from?,
        room_on,
        drawdown,
        source: source.clone(),
        place: field.key_place.clone(),
    })
}

fn drawdown(field: &Field<'_>) -> Option<Drawdown> {
    let mut fields = field.map::<Letting>()?;
    let by = fields.read(&Letting::BY);
    let within = above_zero(&fields.get(&Letting::WITHIN));
    let to = fields.read(&Letting::TO);
    let rate = above_zero(&fields.get(&Letting::RATE));
    let down_to = fields.read(&Letting::DOWN_TO);
    fields.finish();
    let within = within?;
    Some(Drawdown {
        by: by?.value,
        within_h: within.si / 3600.0,
        text: within.text,
        to: to?,
        rate,
        empties_hold: down_to.is_some_and(|said| said.value),
        place: field.key_place.clone(),
    })
}

fn from_level(field: &Field<'_>) -> Option<StormFrom> {
    if field.says("the normal level") || field.says("normal level") {
        return Some(StormFrom::Normal);
    }
    if field.says("the run's own levels") || field.says("the run’s own levels") {
        return Some(StormFrom::Run);
    }
    const HINT: &str = "write `the normal level`, a depth below the spill level (2 ft below the spill level), or: the run's own levels";
    let said = field.parse("a level", "the normal level", |text| {
        let text = text.trim();
        let depth = ["below the spill level", "below spill level", "below spill"]
            .iter()
            .find_map(|ending| text.strip_suffix(ending))
            .ok_or_else(|| Misread::new("this is not a level that a storm can find").hint(HINT))?;
        let range = crate::quantity::range::<kind::Length>(depth.trim())?;
        if range.low != range.high {
            return Err(Misread::new("a design needs one level here, not a range").hint(HINT));
        }
        Ok(range.low.value)
    })?;
    Some(StormFrom::BelowSpill(Figure { si: said.value, text: said.text, place: said.place }))
}

/// `once in 5 years`, `twice in 10 years`, `3 in 10 years`, `0.5 a year`.
pub(super) fn often(text: &str) -> Result<f64, Misread> {
    let refuse = || {
        Misread::new(format!("`{}` does not say how often", text.trim()))
            .hint("write it like once in 5 years, 3 in 10 years, twice a year, or 0.5 a year")
    };
    let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if let [times, "in", "a" | "one", "year"] = words[..] {
        return Err(
            Misread::new(format!("`{}` does not say how often", text.trim())).hint(format!("write `{times} a year`"))
        );
    }
    let count = |word: &str| match word {
        "once" | "one" => Ok(1.0),
        "twice" => Ok(2.0),
        "never" | "no" => Ok(0.0),
        other => number(other).map(|exact| exact.to_f64()),
    };
    let (times, years) = match words[..] {
        ["never"] => (0.0, 1.0),
        [times, "a" | "per", "year"] | [times, "times", "a" | "per", "year"] => (count(times)?, 1.0),
        [times, "in", years, "years" | "year"] | [times, "times", "in", years, "years" | "year"] => {
            (count(times)?, number(years)?.to_f64())
        }
        _ => return Err(refuse()),
    };
    if times < 0.0 || years <= 0.0 || times / years > 366.0 {
        return Err(refuse());
    }
    Ok(times / years)
}

fn spills(field: &Field<'_>) -> Option<SpillDuty> {
    let mut fields = field.map::<Spills>()?;
    let oftener = fields.read(&Spills::OFTENER);
    let judged = fields.read(&Spills::JUDGED_ON);
    let apart = whole_days(&fields.get(&Spills::APART));
    let longest = whole_days(&fields.get(&Spills::LONGEST));
    fields.finish();
    let said = oftener?;
    Some(SpillDuty {
        a_year: said.value,
        text: said.text,
        judged_on: judged.map_or(SpillsJudgedOn::TheCount, |said| said.value),
        longest_days: longest.map(|said| said.value),
        apart_days: apart.map_or(1, |said| said.value),
        place: field.key_place.clone(),
    })
}

/// Years of a length of time.
fn years_of(span: Span) -> f64 {
    match span {
        Span::Months(months) => f64::from(months) / 12.0,
        Span::Seconds(seconds) => seconds as f64 / (DAYS_A_YEAR * 86_400.0),
    }
}

fn clean_out(field: &Field<'_>) -> Option<CleanOutDuty> {
    let mut fields = field.map::<CleanOut>()?;
    let every = fields.read(&CleanOut::EVERY);
    let dry_solids = above_zero(&fields.get(&CleanOut::DRY_SOLIDS));
    fields.finish();
    let said = every?;
    let every_years = years_of(said.value);
    if every_years <= 0.0 {
        field.refuse("a pond is not cleaned out all the time", "write it like 8 years");
        return None;
    }
    Some(CleanOutDuty { every_years, text: said.text, dry_solids, place: field.key_place.clone() })
}

/// `5 days a year`.
pub(super) fn days_a_year(text: &str) -> Result<f64, Misread> {
    let refuse = || {
        Misread::new(format!("`{}` is not a number of days a year", text.trim())).hint("write it like 5 days a year")
    };
    let words: Vec<&str> = text.split_whitespace().collect();
    match words[..] {
        [days, "day" | "days", "a" | "per", "year"] | [days, "days/year" | "day/year"] => {
            let days = number(days)?.to_f64();
            if (0.0..=366.0).contains(&days) { Ok(days) } else { Err(refuse()) }
        }
        _ => Err(refuse()),
    }
}

fn shortage(field: &Field<'_>) -> Option<ShortageDuty> {
    let mut fields = field.map::<Shortage>()?;
    let most = fields.read(&Shortage::MOST);
    fields.finish();
    let said = most?;
    Some(ShortageDuty { days_a_year: said.value, text: said.text, place: field.key_place.clone() })
}

#[cfg(test)]
#[path = "tests/read.rs"]
mod tests;
