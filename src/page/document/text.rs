//! Words with their weight, and the basis of a figure.

use serde::Serialize;

/// How a figure is known; the report shows it in the type (upright, *italic*, *\[italic in brackets\]*) and as a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// Read off a meter, or measured on the spot.
    Metered,
    /// From a laboratory or field sample.
    Sampled,
    /// Worked out by a named method.
    Computed,
    /// Taken on somebody's word, with a reason.
    Assumed,
}

impl Basis {
    /// The weakest basis that a figure of the ledger rests on; none when it has no entry, or rests on something not known.
    pub fn of(ledger: crate::balance::Basis) -> Option<Self> {
        use crate::balance::Basis as Ledger;
        if ledger.has(Ledger::UNKNOWN) {
            None
        } else if ledger.has(Ledger::ASSUMED) {
            Some(Self::Assumed)
        } else if ledger.has(Ledger::COMPUTED) {
            Some(Self::Computed)
        } else if ledger.has(Ledger::SAMPLED) {
            Some(Self::Sampled)
        } else if ledger.has(Ledger::METERED) {
            Some(Self::Metered)
        } else {
            None
        }
    }

    /// The word itself, as printed in the folio column.
    pub fn word(self) -> &'static str {
        match self {
            Self::Metered => "metered",
            Self::Sampled => "sampled",
            Self::Computed => "computed",
            Self::Assumed => "assumed",
        }
    }

    /// The capital that stands for it in narrow columns; a legend names it wherever it is used.
    pub fn letter(self) -> char {
        match self {
            Self::Metered => 'M',
            Self::Sampled => 'S',
            Self::Computed => 'C',
            Self::Assumed => 'A',
        }
    }

    /// Whether figures of this basis are measurements: their outcome boxes are closed and their fills solid.
    pub fn is_measured(self) -> bool {
        matches!(self, Self::Metered | Self::Sampled)
    }

    /// `figure` dressed for print where type alone cannot tell: an assumed one stands in square brackets.
    pub fn dress(self, figure: &str) -> String {
        match self {
            Self::Assumed => format!("[{figure}]"),
            _ => figure.to_owned(),
        }
    }

    /// The cut of the typeface that shows this basis.
    pub fn style(self) -> Style {
        match self {
            Self::Metered | Self::Sampled => Style::Plain,
            Self::Computed | Self::Assumed => Style::Italic,
        }
    }
}

/// A cut of the report's one typeface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Style {
    /// Upright, regular weight.
    #[default]
    Plain,
    /// Upright, bold.
    Bold,
    /// Italic, regular weight.
    Italic,
}

/// A stretch of words in one cut.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Run {
    /// The words.
    pub text: String,
    /// Their cut.
    pub style: Style,
    /// The words of a link's target heading (its anchor), if the words lead there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub link: Option<String>,
}

/// Running text: stretches of words one after the other, with no space put between.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Text {
    /// The stretches in reading order.
    pub runs: Vec<Run>,
}

impl Text {
    /// No words yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds plain words.
    pub fn plain(self, text: impl Into<String>) -> Self {
        self.with(text, Style::Plain)
    }

    /// Adds bold words.
    pub fn bold(self, text: impl Into<String>) -> Self {
        self.with(text, Style::Bold)
    }

    /// Adds italic words.
    pub fn italic(self, text: impl Into<String>) -> Self {
        self.with(text, Style::Italic)
    }

    /// Adds a figure dressed by its basis.
    pub fn figure(self, text: impl Into<String>, basis: Basis) -> Self {
        self.with(basis.dress(&text.into()), basis.style())
    }

    /// Adds words that lead to the heading with this anchor.
    pub fn link(mut self, text: impl Into<String>, anchor: impl Into<String>) -> Self {
        self.runs.push(Run { text: text.into(), style: Style::Plain, link: Some(anchor.into()) });
        self
    }

    /// Adds words in a cut.
    pub fn with(mut self, text: impl Into<String>, style: Style) -> Self {
        self.runs.push(Run { text: text.into(), style, link: None });
        self
    }

    /// The words alone.
    pub fn words(&self) -> String {
        self.runs.iter().map(|run| run.text.as_str()).collect()
    }

    /// Whether there is nothing but space in it.
    pub fn is_empty(&self) -> bool {
        self.runs.iter().all(|run| run.text.trim().is_empty())
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Self {
        Self::new().plain(text)
    }
}

impl From<String> for Text {
    fn from(text: String) -> Self {
        Self::new().plain(text)
    }
}

impl From<&String> for Text {
    fn from(text: &String) -> Self {
        Self::new().plain(text.as_str())
    }
}
