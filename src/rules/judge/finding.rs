//! A finding: what the records show of one limit, duty, notice, or property of the facility, with its working.

use std::fmt;

use chrono::NaiveDate;

use crate::told::Place;

/// What a finding is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FindingKind {
    /// A limit of the permit.
    Limit,
    /// A duty to sample, read or look.
    Monitoring,
    /// The holder's own routine, typed in the facility's file and not in the permit.
    Routine,
    /// A call, letter or report that is due.
    Notice,
    /// Something about the facility itself: a filter that cannot keep up, a wash flux too low.
    Facility,
}

impl FindingKind {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Limit => "limit",
            Self::Monitoring => "monitoring",
            Self::Routine => "routine",
            Self::Notice => "notice",
            Self::Facility => "facility",
        }
    }
}

/// How a finding came out. The order is the order of page 1: worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// Measured, and over a maximum.
    Exceeded,
    /// Measured, and below a minimum.
    BelowMinimum,
    /// Measured, and outside a range.
    OutsideRange,
    /// Something due was not done: a notice that is overdue, a sample or look that is not on file.
    Overdue,
    /// Not enough data, or data that do not decide.
    NotShown,
    /// Computed, and outside in every draw.
    PredictedOutside,
    /// Computed, and the draws disagree.
    Undecided,
    /// Something is due on a day to come.
    Due,
    /// Computed, and within in every draw.
    PredictedWithin,
    /// Measured, enough of it, and within.
    Met,
    /// Shown by meter or look that nothing flowed.
    NoDischarge,
    /// Something due was done in time.
    Done,
    /// Nothing was due.
    NothingDue,
    /// No window lies in force and in season whole, so nothing can be evaluated.
    NotEvaluable,
    /// The limit was not in force.
    NotInForce,
}

impl Outcome {
    /// The words printed.
    pub fn words(self) -> &'static str {
        match self {
            Self::Exceeded => "exceeded",
            Self::BelowMinimum => "below minimum",
            Self::OutsideRange => "outside range",
            Self::Overdue => "overdue",
            Self::NotShown => "not shown",
            Self::PredictedOutside => "predicted outside",
            Self::Undecided => "undecided",
            Self::Due => "due",
            Self::PredictedWithin => "predicted within",
            Self::Met => "met",
            Self::NoDischarge => "no discharge",
            Self::Done => "done",
            Self::NothingDue => "nothing due",
            Self::NotEvaluable => "not evaluable",
            Self::NotInForce => "not in force",
        }
    }

    /// Whether measured data break the limit.
    pub fn is_exceeded(self) -> bool {
        matches!(self, Self::Exceeded | Self::BelowMinimum | Self::OutsideRange)
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// Whether a figure was measured or computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Provenance {
    /// Records alone.
    Measured,
    /// The ledger's computation.
    Computed,
}

/// A figure with what it could be at least and at most.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The lowest it can be, in `unit`.
    pub low: f64,
    /// The highest it can be, in `unit`; infinite where something is missing.
    pub high: f64,
    /// Under the permit's own substitution, or the middle run's value; none where there is none.
    pub value: Option<f64>,
    /// The limit's unit, as typed.
    pub unit: String,
    /// As printed, with its unit: `38 mg/L`, `below 0.1 mL/L`.
    pub text: String,
    /// Measured or computed.
    pub provenance: Provenance,
}

/// What the bound of a limit says.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The bound as printed: `at most 30 mg/L`.
    pub text: String,
    /// The upper bound in the limit's unit.
    pub at_most: Option<f64>,
    /// The lower bound.
    pub at_least: Option<f64>,
    /// Its unit as typed.
    pub unit: String,
}

/// One observation or entry that a figure rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// The day.
    pub day: NaiveDate,
    /// What it says: `total suspended solids 47 mg/L`.
    pub text: String,
    /// File and line.
    pub place: Option<Place>,
    /// The paper it was copied from.
    pub paper: Option<String>,
}

/// What is said of a reading, look or sample that was not taken when it was due.
pub const TOO_LATE: &str = "It is too late for that now.";

/// Something that is missing, and what would show it.
#[derive(Debug, Clone, PartialEq)]
pub struct Missing {
    /// The first and the last day of the window that lacks it, where its sentence begins with that window.
    pub of: Option<(NaiveDate, NaiveDate)>,
    /// The paper that has other results of the window and lacks this one.
    pub paper: Option<String>,
    /// What is missing, in one sentence.
    pub sentence: String,
    /// What would settle it, in one sentence; none where nothing would.
    pub would_show: Option<String>,
}

/// The outcome in one window of time.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowFinding {
    /// As printed: `Mar 2025`, `14 Mar 2025`.
    pub label: String,
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub to: NaiveDate,
    /// How it came out.
    pub outcome: Outcome,
    /// The figure; none where there is nothing.
    pub figure: Option<Figure>,
    /// How many samples, days or readings.
    pub n: usize,
    /// How many there had to be, where something says so.
    pub needed: Option<usize>,
    /// The arithmetic, line by line: `(30 + 46) ÷ 2 = 38 mg/L`.
    pub arithmetic: Vec<String>,
    /// What it rests on.
    pub evidence: Vec<Evidence>,
    /// What is missing.
    pub missing: Vec<Missing>,
}

/// What the margin strip of page 1 draws, in the limit's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripData {
    /// The limit.
    pub limit: f64,
    /// The worst value.
    pub worst: f64,
    /// The lowest it can be.
    pub low: f64,
    /// The highest it can be.
    pub high: f64,
    /// Whether the limit is a minimum.
    pub is_minimum: bool,
}

/// A finding with its working.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// A stable name: `limit / TSS, highest day`.
    pub id: String,
    /// What it is about.
    pub kind: FindingKind,
    /// As printed: the user's own name of the limit.
    pub name: String,
    /// The permit's words, as typed.
    pub words: Option<String>,
    /// Where the limit was typed.
    pub place: Option<Place>,
    /// The point it holds at.
    pub at: String,
    /// How it came out over the period.
    pub outcome: Outcome,
    /// The other answer, where the permit does not say and the answers differ: what it turns on, as words after "if"
    /// (`the figure is rounded half up to a whole number`), and how it then comes out.
    pub other_answer: Option<(String, Outcome)>,
    /// The bound.
    pub limit: Option<Judged>,
    /// The worst figure over the period.
    pub figure: Option<Figure>,
    /// As printed: `8 mg/L over`, `0.1 ft inside`.
    pub margin: Option<String>,
    /// How much the margin is, without its word: `8 mg/L`; none at the limit.
    pub margin_size: Option<String>,
    /// The margin as a number in the limit's unit, positive inside the limit.
    pub margin_value: Option<f64>,
    /// For the strip.
    pub strip: Option<StripData>,
    /// When it was worst, as printed.
    pub worst_when: Option<String>,
    /// As printed: `5 of 6 months`, `9 samples`.
    pub how_many: String,
    /// The count behind it.
    pub n: usize,
    /// Dates it turns on: worst days, days due.
    pub dates: Vec<NaiveDate>,
    /// Each window.
    pub windows: Vec<WindowFinding>,
    /// Sentences that explain the outcome, first the most important.
    pub sentences: Vec<String>,
    /// What is missing over the period.
    pub missing: Vec<Missing>,
    /// What the outcome rests on.
    pub evidence: Vec<Evidence>,
    /// For a notice: the day it is or was due.
    pub due: Option<NaiveDate>,
    /// For a notice: whether anything that answers it came after its time, the call as much as the letter.
    pub is_late: bool,
    /// For a prediction: the share of draws outside, 0 to 1.
    pub share_outside: Option<f64>,
    /// What it is about and of which window or place, apart: `Monthly report`, `Jul 2025` of a notice; `Look, once a week`,
    /// `Outfall 1` of a sample, reading or look that is due.
    pub about: Option<(String, String)>,
    /// Of one that is not shown: the worst of the ledger, where that is outside the limit, and when. No proof.
    pub beside: Option<(Figure, Option<String>)>,
    /// How likely a month to come is over the limit, in one sentence: for the holder, and no finding.
    pub likelihood: Option<String>,
}

impl Finding {
    /// One of which nothing is said yet but what it is of and how it comes out.
    pub(crate) fn new(id: String, kind: FindingKind, name: String, at: String, outcome: Outcome) -> Self {
        Self {
            id,
            kind,
            name,
            words: None,
            place: None,
            at,
            outcome,
            other_answer: None,
            limit: None,
            figure: None,
            margin: None,
            margin_size: None,
            margin_value: None,
            strip: None,
            worst_when: None,
            how_many: String::new(),
            n: 0,
            dates: Vec::new(),
            windows: Vec::new(),
            sentences: Vec::new(),
            beside: None,
            missing: Vec::new(),
            evidence: Vec::new(),
            due: None,
            is_late: false,
            share_outside: None,
            about: None,
            likelihood: None,
        }
    }

    /// Of a notice, all that is not on file, in words; else its first sentence.
    pub fn what_is_missing(&self) -> String {
        let missing: Vec<&str> = self.missing.iter().map(|missing| missing.sentence.as_str()).collect();
        if missing.is_empty() { self.sentences.first().cloned().unwrap_or_default() } else { missing.join(" ") }
    }

    /// Whether the limit is a maximum or a minimum, and not a range: a range's figure has two ends of its own.
    pub fn limit_is_one_sided(&self) -> bool {
        self.limit.as_ref().is_some_and(|limit| limit.at_most.is_some() != limit.at_least.is_some())
    }
}
