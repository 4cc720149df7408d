//! Keys that a limit's statistic does not use: refused, so that nothing that was typed is dropped unseen.

use super::keys::{self, Counting};
use crate::files::Fields;
use crate::rules::predict::plan::matters;
use crate::rules::window::statistics::{Fold, Shape};
use crate::rules::window::windows::WindowKind;
use crate::rules::{Limit, Subject, Weighting};

/// Whether a limit is on samples or field readings of a parameter.
fn is_sampled(limit: &Limit) -> bool {
    matches!(limit.subject, Subject::Parameter(_) | Subject::Load(_) | Subject::Removal(..))
}

/// Every key that may stand at a limit and does nothing at some, with what uses it.
fn uses(limit: &Limit) -> [(&'static str, bool, &'static str); 20] {
    let matters = matters(limit);
    let sampled = is_sampled(limit);
    let shape = limit.statistic.shape;
    let by_itself = matches!(shape, Shape::ByItself);
    let geometric = limit.statistic.is_geometric
        || (limit.statistic.divides && limit.counting.weighting.is() == Some(Weighting::Geometric));
    let water = matches!(limit.subject, Subject::Water | Subject::Events);
    let has_looks = !matches!(limit.subject, Subject::Stage(_) | Subject::Events);
    [
        (keys::Limit::EXCEPT.word, limit.subject == Subject::Discharge, "`no discharge`"),
        (keys::Limit::ALLOWANCE.word, shape == Shape::Window(Fold::Allowance), "`percentile`"),
        (
            keys::Limit::ONLY_BETWEEN.word,
            matches!(limit.subject, Subject::ClockWindow | Subject::Water),
            "`time of day`, or a total of water",
        ),
        (keys::Limit::BETWEEN_HERE_AND.word, matches!(limit.subject, Subject::Removal(..)), "`percent removal`"),
        (keys::Limit::DETECTION.word, sampled, "a parameter that is sampled"),
        (keys::Limit::QUANTITATION.word, sampled, "a parameter that is sampled"),
        (
            Counting::SEVERAL.word,
            limit.statistic.by_day && (sampled || matches!(limit.subject, Subject::Stage(_))),
            "a statistic of days that are sampled",
        ),
        (
            Counting::BELOW_DETECTION.word,
            sampled && (limit.statistic.substitutes || limit.statistic.by_day),
            "averages, totals and means of samples",
        ),
        (Counting::BELOW_DETECTION_GEOMETRIC.word, geometric, "a geometric mean"),
        (Counting::BETWEEN_LEVELS.word, limit.quantitation.is_some(), "a limit with a `quantitation level`"),
        (Counting::MONTHLY_DIVISOR.word, !matters.divisors.is_empty(), "an average"),
        (Counting::DIVISOR.word, !matters.divisors.is_empty(), "an average"),
        (Counting::WEIGHTING.word, matters.weighting, "an average of a concentration"),
        (Counting::ROUNDING.word, !by_itself, "a statistic with a figure"),
        (
            Counting::LEAST_DATA.word,
            !(water || by_itself || limit.subject == Subject::Hours),
            "what is sampled or read",
        ),
        (Counting::DRY_LOOK.word, has_looks, "what is discharged"),
        (Counting::STRADDLING.word, matters.straddling, "a weekly statistic with a season or months"),
        (
            keys::Limit::LOAD_OF_A_MONTH.word,
            matches!(limit.subject, Subject::Load(_))
                && shape == Shape::Window(Fold::Total)
                && matches!(
                    limit.statistic.window,
                    WindowKind::Month | WindowKind::PermitYear | WindowKind::TwelveMonths
                ),
            "a load's total of a month, of twelve or of the permit year",
        ),
        (keys::Limit::WITHOUT_RESULT.word, limit.monthly_load.is_some(), "a limit with `load of a month`"),
        (Counting::LOAD_FACTOR.word, matches!(limit.subject, Subject::Load(_)), "a load"),
    ]
}

/// Tells every key that was typed at a limit and that its statistic does not use.
pub(crate) fn tell(limit: &Limit, fields: &Fields<'_>) {
    let words = limit.statistic.words.replace('N', &limit.days.to_string());
    for (key, used, by) in uses(limit) {
        if let Some(field) = fields.typed(key).filter(|_| !used) {
            field.refuse(
                format!("`{key}` does nothing for {words} of this limit"),
                format!("it is used by {by}; take it out, or look at `statistic` again"),
            );
        }
    }
    if let Some(field) = fields.typed(Counting::LEVEL_HOLDS)
        && limit.except.as_ref().is_none_or(|of| of.before_it.is_none())
    {
        field.refuse(
            "`a level reading holds for` does nothing for this limit",
            "it is used by `except` with a level before the storm",
        );
    }
    if matches!(limit.subject, Subject::Discharge | Subject::ClockWindow) {
        for key in ["at most", "at least", "below", "above", "parameter"] {
            if let Some(field) = fields.typed(key).filter(|_| !(key == "parameter" && says_water(limit))) {
                field.refuse(format!("`{key}` does nothing for {words}"), "take it out, or look at `statistic` again");
            }
        }
    }
}

fn says_water(limit: &Limit) -> bool {
    limit
        .parameter
        .as_deref()
        .is_some_and(|name| matches!(name.trim().to_lowercase().as_str(), "water" | "flow" | "discharge"))
}

/// What a statistic can't be made of: told with what to write.
pub(crate) fn mismatch(limit: &Limit) -> Option<(&'static str, &'static str)> {
    let words = limit.statistic.words;
    let concentration = matches!(limit.subject, Subject::Parameter(_) | Subject::Stage(_));
    if concentration && (words.ends_with("total")) {
        return Some((
            "a concentration or a level is not added up",
            "write an average or a maximum; a load is in lb or kg",
        ));
    }
    let season = words.starts_with("season");
    if season && limit.holds.seasons.is_empty() && limit.holds.months.is_empty() {
        return Some(("a season's figure needs its season", "write it like in season: 1 Jun to 30 Sep"));
    }
    let by_sample = matches!(limit.statistic.shape, Shape::Window(Fold::Geometric | Fold::Allowance));
    if by_sample && !matches!(limit.subject, Subject::Parameter(_)) {
        return Some((
            "this statistic is made of samples of a concentration",
            "write the parameter that is sampled, with its unit",
        ));
    }
    None
}
