//! A limit held against records, window by window, under one way to count.

use chrono::NaiveDate;

use crate::quantity::{HowOften, Stretch};
use crate::rules::duty::{DueStretch, stretch_words};
use crate::rules::judge::lacking::{Least, lacking_sentence, least, longer_than, stretches_due};
use crate::rules::judge::scene::Scene;
use crate::rules::judge::{amounts, clock_window, each, likely, loads, no_discharge, text, values};
use crate::rules::measure::{Flow, Flows, by_day};
use crate::rules::window::decide::{Side, side};
use crate::rules::window::statistics::{Fold, Shape};
use crate::rules::window::windows::{Listed, Window, WindowKind, after, days_label};
use crate::rules::{Bound, Counted, Evidence, Interval, Limit, Missing, Number, Outcome, Subject, WindowFinding};

/// One window judged, with its figure as numbers beside the finding.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Judgement {
    /// The window's finding.
    pub finding: WindowFinding,
    /// Its figure.
    pub value: Option<Interval>,
    /// What it was held against, where that is not the bound.
    pub against: Option<Number>,
    /// The day on which it was certain.
    pub known_on: Option<NaiveDate>,
}

/// A limit judged under one way to count.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Judged {
    /// Windows in order of time.
    pub windows: Vec<Judgement>,
    /// How many readings there were.
    pub readings: usize,
    /// Of amounts: how many covered more than a day.
    pub long: usize,
    /// Stretches in which a sample was due: on file, and due.
    pub stretches: Option<(usize, usize)>,
    /// Windows that can't be evaluated.
    pub not_evaluable: usize,
    /// What is missing that belongs to no window.
    pub missing: Vec<Missing>,
    /// Sentences for the finding.
    pub notes: Vec<String>,
    /// How likely a month to come is over.
    pub likelihood: Option<String>,
}

impl Judged {
    /// The outcome over the period: exceeded outranks not shown outranks met; windows without a discharge do not count
    /// beside others, and no window at all shows nothing.
    pub fn outcome(&self) -> Outcome {
        let worst = self.windows.iter().map(|window| window.finding.outcome).min();
        match worst {
            Some(outcome) if outcome.is_exceeded() => outcome,
            _ if !self.missing.is_empty() => Outcome::NotShown,
            Some(outcome) => outcome,
            None if self.not_evaluable > 0 => Outcome::NotEvaluable,
            None => Outcome::NotShown,
        }
    }
}

/// The figure of a window.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Figured {
    /// The figure.
    pub value: Interval,
    /// How many values it rests on.
    pub n: usize,
    /// The arithmetic, line by line.
    pub arithmetic: Vec<String>,
    /// Records behind it.
    pub evidence: Vec<Evidence>,
    /// The day on which all of it was known.
    pub known_on: Option<NaiveDate>,
    /// For what only rises: the day on which it was surely over the bound.
    pub over_on: Option<NaiveDate>,
    /// What it is held against, where that is not the bound itself: the allowance of a percentile.
    pub against: Option<Number>,
    /// What is missing that the figure itself shows.
    pub missing: Vec<Missing>,
    /// What would narrow the figure: told only where it does not decide.
    pub hints: Vec<Missing>,
}

impl Figured {
    /// A figure of which nothing more is told.
    pub fn of(value: Interval) -> Self {
        Self {
            value,
            n: 0,
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            known_on: None,
            over_on: None,
            against: None,
            missing: Vec::new(),
            hints: Vec::new(),
        }
    }
}

/// Days joined into runs.
pub(crate) fn runs(days: &[NaiveDate]) -> Vec<(NaiveDate, NaiveDate)> {
    let mut out: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in days {
        match out.last_mut() {
            Some((_, to)) if after(*to) == *day => *to = *day,
            _ => out.push((*day, *day)),
        }
    }
    out
}

/// Days as runs for print: `3 Mar 2025, 5-8 Mar 2025`, shortened after `most` runs.
pub(crate) fn runs_text(days: &[NaiveDate], most: usize) -> String {
    let runs = runs(days);
    // One more takes no more room than the words that count it.
    let most = if runs.len() == most + 1 { runs.len() } else { most };
    let mut text: Vec<String> = runs.iter().take(most).map(|(from, to)| days_label(*from, *to)).collect();
    if runs.len() > most {
        let what = if runs.iter().any(|(from, to)| from != to) { " stretches" } else { "" };
        text.push(format!("and {} more{what}", runs.len() - most));
    }
    text.join(", ")
}

/// Holds a limit against the records.
pub(crate) fn evaluate(scene: &Scene<'_>, counted: &Counted) -> Judged {
    let mut out = match (&scene.limit.subject, scene.limit.statistic.shape) {
        (Subject::Discharge, _) => no_discharge::evaluate(scene),
        (Subject::ClockWindow, _) => clock_window::evaluate(scene),
        (Subject::Water | Subject::Events, Shape::Window(fold)) => amounts::windows(scene, counted, fold),
        (Subject::Water | Subject::Events, _) => amounts::days(scene, counted),
        (Subject::Load(_), Shape::Window(fold)) => loads::windows(scene, counted, fold),
        (Subject::Load(_), _) => loads::days(scene, counted),
        (Subject::Rate | Subject::Hours, _) => each::readings(scene, counted),
        (_, shape) => place_by_place(scene, counted, shape),
    };
    if scene.limit.subject != Subject::Discharge {
        unknown_tiers(scene, &mut out);
    }
    // What can't be used is told; it makes the outcome not shown only through the duty or a window it leaves open.
    out.notes.extend(scene.refused.iter().take(20).map(|missing| missing.sentence.clone()));
    if matches!(scene.limit.statistic.window, WindowKind::Rolling | WindowKind::TwelveMonths) && out.not_evaluable > 0 {
        out.notes.push(format!(
            "{} windows that do not lie in force and in season whole can't be evaluated; {} are.",
            out.not_evaluable,
            out.windows.len()
        ));
    }
    out.windows.sort_by_key(|judgement| (judgement.finding.from, judgement.finding.to));
    out
}

/// Samples and levels: each place by itself, or all together where they are weighed by flow.
fn place_by_place(scene: &Scene<'_>, counted: &Counted, shape: Shape) -> Judged {
    let unit = match scene.limit.subject {
        Subject::Removal(..) => Some(&crate::quantity::units::KG_M3),
        _ => scene.limit.bound.unit.as_ref(),
    };
    let one_a_day = scene.limit.statistic.by_day;
    let of_place = |at: usize| {
        let raw = scene.values.get(at).map_or(&[][..], Vec::as_slice);
        by_day(raw, one_a_day, scene.limit.statistic, counted, unit)
    };
    if scene.values.len() > 1 && !scene.place_by_place(counted) {
        let all: Vec<Vec<_>> = (0..scene.values.len()).map(of_place).collect();
        let together: Vec<_> = all.into_iter().flatten().collect();
        return values::judged(scene, counted, shape, &scene.flows, &together, None);
    }
    let mut out = Judged::default();
    for at in 0..scene.values.len() {
        let flows = scene.flows.at(at);
        let name = (scene.values.len() > 1)
            .then(|| flows.of.first())
            .flatten()
            .and_then(|of| scene.case.facility.get(of.place))
            .map(|site| site.name.clone());
        let one = values::judged(scene, counted, shape, &flows, &of_place(at), name.as_deref());
        out.add(one);
    }
    if let Shape::Window(_) = shape {
        let months = out.windows.iter().filter(|w| w.finding.n > 0).count();
        let values: Vec<_> = (0..scene.values.len()).flat_map(of_place).collect();
        out.likelihood = likely::next_month(scene.limit, &values, months);
    }
    out
}

impl Judged {
    /// Both together.
    pub fn add(&mut self, other: Self) {
        self.windows.extend(other.windows);
        self.readings += other.readings;
        self.long += other.long;
        self.not_evaluable += other.not_evaluable;
        self.missing.extend(other.missing);
        self.notes.extend(other.notes);
        self.likelihood = self.likelihood.take().or(other.likelihood);
        self.stretches = match (self.stretches, other.stretches) {
            (Some((a, b)), Some((c, d))) => Some((a + c, b + d)),
            (one, two) => one.or(two),
        };
    }

    /// Counts the stretches of a duty that have ended.
    pub fn count(&mut self, duty: &Option<Vec<DueStretch>>) {
        if let Some(duty) = duty {
            let ended: Vec<&DueStretch> = duty.iter().filter(|due| due.ended).collect();
            let have = ended.iter().filter(|due| !due.lacks()).count();
            self.stretches = Some((have, ended.len()));
        }
    }
}

/// A window that touches a day whose tier is not known is not shown: the limit may or may not have held on it.
fn unknown_tiers(scene: &Scene<'_>, out: &mut Judged) {
    if scene.limit.only_when.is_empty() {
        return;
    }
    for judgement in &mut out.windows {
        let unknown: Vec<NaiveDate> =
            crate::rules::window::windows::each_day(judgement.finding.from, judgement.finding.to)
                .filter(|day| scene.in_force(*day) && scene.limit.holds.on(*day) && scene.condition(*day).is_none())
                .collect();
        if unknown.is_empty() || judgement.finding.outcome == Outcome::NotShown {
            continue;
        }
        judgement.finding.outcome = Outcome::NotShown;
        let missing = tier_not_known(scene.limit, &unknown);
        judgement.finding.missing.push(missing);
    }
}

/// Closed stretches of a duty without their sample that are longer than the windows: each is one *not shown*.
pub(crate) fn lacking_stretches(
    scene: &Scene<'_>,
    duty: &Option<Vec<DueStretch>>,
    windows: Option<&[Listed]>,
    place: Option<&str>,
) -> Vec<Judgement> {
    duty.iter()
        .flatten()
        .filter(|due| due.lacks())
        .filter(|due| due.window.from <= scene.case.period.1 && due.window.to >= scene.case.period.0)
        .filter(|due| {
            windows.is_none_or(|windows| {
                !windows.is_empty()
                    && windows
                        .iter()
                        .filter(|window| due.window.from <= window.window.to && due.window.to >= window.window.from)
                        .all(|window| longer_than(due, window))
            })
        })
        .map(|due| not_on_file(labelled(&due.window, place), lacking_sentence(due, scene.limit, scene.case.timeline)))
        .collect()
}

/// The duty of a place over the days that its windows reach.
pub(crate) fn duty_over(
    scene: &Scene<'_>,
    flows: &Flows,
    values: &[crate::rules::measure::Sampled],
    counted: &Counted,
    windows: &[Listed],
) -> Option<Vec<DueStretch>> {
    let (from, to) = scene.case.period;
    let from = windows.iter().map(|window| window.window.from).min().map_or(from, |first| first.min(from));
    let to = windows.iter().map(|window| window.window.to).max().map_or(to, |last| last.max(to));
    stretches_due(scene, flows, values, counted, (from, to))
}

/// A window named with its place, where a limit has several.
pub(crate) fn labelled(window: &Window, place: Option<&str>) -> Window {
    match place {
        Some(place) => Window { label: format!("{}, {place}", window.label), ..window.clone() },
        None => window.clone(),
    }
}

/// A window in which something is missing that leaves no figure.
pub(crate) fn not_on_file(window: Window, missing: Missing) -> Judgement {
    without_figure(window, Outcome::NotShown, vec![missing])
}

/// Whether the stretch of a limit's duty is longer than a window: such a window is listed only with a value.
pub(crate) fn is_within_a_stretch(limit: &Limit, window: &Listed) -> bool {
    let days = match limit.sample.as_ref().map(|duty| duty.how_often) {
        Some(HowOften::Times { each, .. }) => match each {
            Stretch::Day => 1,
            Stretch::Week => 7,
            Stretch::Month => 28,
            Stretch::Quarter => 90,
            Stretch::Year => 365,
        },
        Some(HowOften::Every { days }) => days as usize,
        _ => 1,
    };
    least(limit) == Least::Duty && days > window.whole.days()
}

/// A window of which nothing is on file.
pub(crate) fn nothing_in(window: Window, closed: bool) -> Judgement {
    let sentence = if closed {
        format!("{} has no result on file.", window.label)
    } else {
        format!("{} is not over yet.", window.label)
    };
    not_on_file(window, Missing { of: None, paper: None, sentence, would_show: None })
}

/// Runs of days without a value, each a window; what is missing is told of all of them together.
pub(crate) fn open_days(days: &[NaiveDate], missing: &Missing, place: Option<&str>) -> Vec<Judgement> {
    runs(days)
        .into_iter()
        .map(|(from, to)| not_on_file(labelled(&Window::new(from, to), place), missing.clone()))
        .collect()
}

/// A window without a figure.
pub(crate) fn without_figure(window: Window, outcome: Outcome, missing: Vec<Missing>) -> Judgement {
    Judgement {
        finding: WindowFinding {
            label: window.label,
            from: window.from,
            to: window.to,
            outcome,
            figure: None,
            n: 0,
            needed: None,
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            missing,
        },
        value: None,
        against: None,
        known_on: None,
    }
}

/// Whether every day that is under the limit is shown dry.
pub(crate) fn all_dry(flows: &Flows, days: impl Iterator<Item = NaiveDate>) -> bool {
    let mut any = false;
    let dry = days.fold(true, |dry, day| {
        any = true;
        dry && flows.on(day) == Flow::Dry
    });
    any && dry
}

/// How a window is held against the bound.
pub(crate) struct Held<'a> {
    /// The window.
    pub window: Window,
    /// Whether its last day has ended by the day of judgement.
    pub closed: bool,
    /// What is made of it, where it is one of several values.
    pub fold: Option<Fold>,
    /// Whether what results below detection count as may decide.
    pub substitutes: bool,
    /// What is missing under the least data.
    pub missing: Vec<Missing>,
    /// How it counts.
    pub counted: &'a Counted,
}

impl<'a> Held<'a> {
    /// A window that is over, of one value, with nothing missing.
    pub fn of(window: Window, counted: &'a Counted) -> Self {
        Self { window, closed: true, fold: None, substitutes: false, missing: Vec::new(), counted }
    }
}

/// Runs of days without water, each held against the bound with nothing in it.
pub(crate) fn without_water(limit: &Limit, counted: &Counted, dry: &[NaiveDate]) -> Vec<Judgement> {
    runs(dry)
        .into_iter()
        .map(|(from, to)| {
            let figured = Figured {
                arithmetic: vec!["no water".to_owned()],
                known_on: Some(to),
                ..Figured::of(Interval::exactly(Number::ZERO))
            };
            decided(limit, figured, Held::of(Window::new(from, to), counted))
        })
        .collect()
}

/// What is missing where it is not on file whether a tier's conditions hold.
pub(crate) fn tier_not_known(limit: &Limit, days: &[NaiveDate]) -> Missing {
    let conditions: Vec<&str> = limit.only_when.iter().map(|of| of.text.as_str()).collect();
    Missing {
        of: None,
        paper: None,
        sentence: format!(
            "Whether {} is not on file for {}, so it is not known whether the limit held.",
            conditions.join(" and "),
            runs_text(days, 3)
        ),
        would_show: Some("The gauge's record of those days.".to_owned()),
    }
}

/// A figure held against the bound, in the order: surely outside, whatever is missing; least data; surely within; what
/// results below detection count as; else not shown. A window that is not over yet is not shown, unless it is outside
/// already in a way that can't come down.
pub(crate) fn decided(limit: &Limit, figured: Figured, held: Held<'_>) -> Judgement {
    let bound = match figured.against {
        Some(allowed) => Bound::plain(Some(allowed), None),
        None => limit.bound.clone(),
    };
    let value = figured.value;
    let rounding = held.counted.rounding;
    let mut missing = held.missing;
    missing.extend(figured.missing);
    // What is surely outside is so, whatever is missing; what counts as something decides only with enough data.
    let sure = side(&value, &bound, rounding, false);
    let side_of = match sure {
        Side::Over | Side::Under | Side::Within => sure,
        Side::Open if missing.is_empty() => side(&value, &bound, rounding, held.substitutes),
        Side::Open => Side::Open,
    };
    let stays = match (held.fold, side_of) {
        (_, _) if held.closed => true,
        (Some(fold), Side::Over) => fold.only_rises(),
        (Some(Fold::Lowest), Side::Under) => true,
        _ => false,
    };
    let outcome = if stays {
        side_of.outcome(&bound, missing.is_empty())
    } else {
        missing.push(Missing {
            of: None,
            paper: None,
            sentence: format!("{} is not over yet.", held.window.label),
            would_show: None,
        });
        Outcome::NotShown
    };
    if outcome == Outcome::NotShown {
        missing.extend(figured.hints);
    }
    let mut arithmetic = figured.arithmetic;
    if rounding != crate::rules::Rounding::Not {
        let rounded = Interval {
            low: value.low.rounded(rounding),
            high: value.high.rounded(rounding),
            counted: value.counted.map(|counted_as| counted_as.rounded(rounding)),
        };
        if rounded != value {
            arithmetic.push(format!(
                "{}: {}",
                crate::rules::file::counting::rounding_words(rounding),
                text::figure(&rounded, &limit.bound, false)
            ));
        }
    }
    let mut figure = text::figure_of(&value, &limit.bound, false);
    if held.substitutes {
        figure.text = text::figure(&text::of_several(&value, limit), &limit.bound, false);
    }
    if figured.against.is_some() {
        figure.unit = String::new();
        figure.text = text::over_text(&value, figured.n);
    }
    let known_on = match (figured.over_on, outcome.is_exceeded()) {
        (Some(over), true) => Some(over),
        _ => figured.known_on.map(|day| day.max(held.window.to)),
    };
    Judgement {
        finding: WindowFinding {
            label: held.window.label,
            from: held.window.from,
            to: held.window.to,
            outcome,
            figure: Some(figure),
            n: figured.n,
            needed: None,
            arithmetic,
            evidence: figured.evidence,
            missing: if outcome.is_exceeded() { Vec::new() } else { missing },
        },
        value: Some(value),
        against: figured.against,
        known_on,
    }
}

/// `5 of 6 months`, `9 samples`.
pub(crate) fn how_many(limit: &Limit, judged: &Judged) -> String {
    if let (Some((have, due)), Some(duty)) = (judged.stretches, &limit.sample)
        && have < due
    {
        return format!("{have} of {due} {}", stretch_words(duty.how_often).1);
    }
    let noun = match &limit.subject {
        Subject::Stage(_) | Subject::Rate => "reading",
        Subject::Water | Subject::Events | Subject::Hours if judged.long > 0 => "reading",
        Subject::Water | Subject::Events | Subject::Hours => "day",
        Subject::Parameter(_) if limit.statistic.instant => "result",
        _ => "sample",
    };
    let s = if judged.readings == 1 { "" } else { "s" };
    format!("{} {noun}{s}", judged.readings)
}
