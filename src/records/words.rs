//! The words of the column `what`.

use crate::told::nearest;

/// What a row of records is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum What {
    Reading,
    Head,
    Amount,
    Exchanged,
    Washes,
    WashMinutes,
    Changed,
    Level,
    Freeboard,
    SludgeDepth,
    Holding,
    Look,
    Rain,
    Sample,
    Call,
    Letter,
    ReportSent,
    CleanOut,
    Calibration,
    Hauled,
}

impl What {
    /// Every word with its meaning, in the order in which messages list them.
    pub const WORDS: [(&'static str, Self); 20] = [
        ("reading", Self::Reading),
        ("head", Self::Head),
        ("amount", Self::Amount),
        ("exchanged", Self::Exchanged),
        ("washes", Self::Washes),
        ("wash minutes", Self::WashMinutes),
        ("changed", Self::Changed),
        ("level", Self::Level),
        ("freeboard", Self::Freeboard),
        ("sludge depth", Self::SludgeDepth),
        ("holding", Self::Holding),
        ("look", Self::Look),
        ("rain", Self::Rain),
        ("sample", Self::Sample),
        ("call", Self::Call),
        ("letter", Self::Letter),
        ("report sent", Self::ReportSent),
        ("clean-out", Self::CleanOut),
        ("calibration", Self::Calibration),
        ("hauled", Self::Hauled),
    ];

    /// The meaning of a word; case and spaces around it do not count.
    pub fn named(text: &str) -> Option<Self> {
        let wanted = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        Self::WORDS
            .into_iter()
            .find(|(word, _)| *word == wanted || word.replace('-', " ") == wanted)
            .map(|(_, what)| what)
    }

    /// Its word.
    pub fn words(self) -> &'static str {
        Self::WORDS.into_iter().find(|(_, what)| *what == self).map_or("", |(word, _)| word)
    }

    /// What is told of a word that is none of these: the message, and what would be right.
    pub fn refusal(text: &str) -> (String, String) {
        let words = Self::WORDS.map(|(word, _)| word);
        let hint = match nearest(text.trim(), words) {
            Some(word) => format!("did you mean `{word}`?"),
            None => format!("write one of: {}", words.join(", ")),
        };
        (format!("`{}` is not a word for what was recorded", text.trim()), hint)
    }

    /// Whether it is something done and not something measured.
    pub fn is_act(self) -> bool {
        matches!(self, Self::Call | Self::Letter | Self::ReportSent | Self::CleanOut | Self::Calibration | Self::Hauled)
    }
}

/// Whether a word, in small letters, says that water flowed; none for a word that says neither.
pub(crate) fn flows(word: &str) -> Option<bool> {
    match word {
        "flowing" | "flow" | "flowed" | "running" | "discharging" | "discharge" | "yes" | "y" | "wet, flowing"
        | "trickle" | "trickling" | "a trickle" | "slight trickle" | "dribble" | "dripping" | "drip" | "low flow"
        | "light flow" | "heavy flow" | "flowing, light" | "flowing, heavy" => Some(true),
        "dry" | "no flow" | "not flowing" | "not running" | "none" | "no" | "n" | "off" | "no discharge" | "nil"
        | "no water" | "nothing" => Some(false),
        _ => None,
    }
}

/// Whether a word, in small letters, says that the laboratory found nothing.
pub(crate) fn says_not_detected(word: &str) -> bool {
    matches!(word, "nd" | "n.d." | "not detected" | "bdl" | "none detected")
}

#[cfg(test)]
mod tests {
    use super::What;

    #[test]
    fn every_word_names_itself_and_spelling_of_case_does_not_matter() {
        for (word, what) in What::WORDS {
            assert_eq!(What::named(word), Some(what));
            assert_eq!(what.words(), word);
        }
        assert_eq!(What::named(" Report  Sent "), Some(What::ReportSent));
        assert_eq!(What::named("clean out"), Some(What::CleanOut));
        assert_eq!(What::named("readings"), None);
    }
}
