//! The record of one method: what the report's appendix and `explain` print about an equation.

/// A symbol of an equation: the letter, its meaning, its unit.
pub type Symbol = (&'static str, &'static str, &'static str);

/// How well a method's text and source are known to this project.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The equation or figure was read in a text, often a quotation of the source.
    Seen,
    /// Plain arithmetic, or compared number by number with an independent calculation.
    Computed,
    /// Seen in another's text or public code that cites it; the source itself was not read.
    SeenElsewhere,
    /// Known from memory; the source's own text was not read. Values it was compared with are named in the source.
    FromMemory,
    /// Common practice; no source is claimed.
    CommonPractice,
}

impl Standing {
    /// The words that the report prints.
    pub fn words(self) -> &'static str {
        match self {
            Self::Seen => "text seen",
            Self::Computed => "computed independently",
            Self::SeenElsewhere => "seen where it is cited, its own text not read",
            Self::FromMemory => "from memory, not checked against the text",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// One equation or rule: all that a reader needs to judge a figure computed with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Method {
    /// Short name for `explain`, small letters and hyphens.
    pub id: &'static str,
    /// The trade's name, with its author where it has one.
    pub name: &'static str,
    /// The equation as text.
    pub equation: &'static str,
    /// Every symbol of the equation with meaning and unit.
    pub symbols: &'static [Symbol],
    /// Where the equation holds.
    pub valid_range: &'static str,
    /// What is reported, and what the value then is, outside that range.
    pub outside: &'static str,
    /// Author, year, table or example; what it was compared with.
    pub source: &'static str,
    /// How well the source is known.
    pub standing: Standing,
}
