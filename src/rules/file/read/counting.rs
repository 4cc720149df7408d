//! How a permit counts, for the whole file or for one limit.

use chrono::{NaiveTime, Weekday};

use crate::files::{Field, Fields};
use crate::quantity::{Misread, clock, weekday};
use crate::rules::{
    BetweenLevels, Counting, Divisor, DryLook, LeastData, LoadFactor, Number, Rounding, RoundingRule, Several,
    Straddling, Substitute, Switch, Tie, Weighting,
};

/// Reads the switches that stand in a map over those of `base`. In the file's own section (`whole`) each that the permit
/// could say is asked for by name, `not said` included, so that nothing is left out unseen.
pub(crate) fn read(fields: &mut Fields<'_>, base: Counting, whole: bool) -> Counting {
    let mut out = base;
    if whole {
        let day = fields.must("day", "day: 7 am to 7 am");
        out.day_starts = day.parse("the permit's day", "7 am to 7 am", day_starts).map(|said| said.value);
        set(&mut out.week_starts, &fields.may("week starts"), |field| {
            field.parse("a weekday", "Sunday", weekday).map(|said: crate::files::Said<Weekday>| said.value)
        });
    }
    set(&mut out.several, &fields.may("several samples in a day"), |field| {
        one(field, &[("average", Several::Average), ("highest", Several::Highest), ("lowest", Several::Lowest)])
    });
    set(&mut out.below_detection, &fields.may("below detection counts as"), substitute);
    let geometric = fields.may("below detection in a geometric mean counts as");
    if geometric.is_there() && !geometric.says_not_said() {
        out.below_detection_geometric = substitute(&geometric);
    }
    let between = fields.may("between detection and quantitation counts as");
    if let Some(value) = one(
        &between,
        &[
            ("as measured", BetweenLevels::AsMeasured),
            ("detection limit", BetweenLevels::DetectionLimit),
            ("the detection limit", BetweenLevels::DetectionLimit),
            ("zero", BetweenLevels::Zero),
        ],
    ) {
        out.between_levels = value;
    }
    for key in ["monthly average divides by", "average divides by"] {
        out.divisor_of_limit |= !whole && fields.has(key);
        set(&mut out.divisor, &fields.may(key), |field| {
            one(
                field,
                &[
                    ("days sampled", Divisor::DaysSampled),
                    ("days with a discharge", Divisor::DaysWithDischarge),
                    ("calendar days", Divisor::CalendarDays),
                ],
            )
        });
    }
    set(&mut out.weighting, &fields.may("weighting"), |field| {
        one(
            field,
            &[
                ("arithmetic", Weighting::Arithmetic),
                ("flow-weighted", Weighting::FlowWeighted),
                ("flow weighted", Weighting::FlowWeighted),
                ("geometric", Weighting::Geometric),
            ],
        )
    });
    set(&mut out.rounding, &fields.may("rounding"), |field| {
        field.parse("a rounding", "half up to 1 decimal", rounding).map(|said| said.value)
    });
    set(&mut out.least_data, &fields.may("least data"), |field| {
        field
            .parse("the least data", "3 samples, the sample duty, or every day with a discharge", least)
            .map(|said| said.value)
    });
    set(&mut out.dry_look, &fields.may("a dry look covers"), |field| {
        one(
            field,
            &[
                ("that day", DryLook::ThatDay),
                ("the days since the last dry look", DryLook::SinceTheLastDryLook),
                ("since the last dry look", DryLook::SinceTheLastDryLook),
            ],
        )
    });
    set(&mut out.straddling, &fields.may("a week over the edge of a month belongs to"), |field| {
        one(
            field,
            &[
                ("the month it starts in", Straddling::WhereItStarts),
                ("the month it ends in", Straddling::WhereItEnds),
                ("the month with most of its days", Straddling::WhereMostDaysAre),
            ],
        )
    });
    if let Some(value) = one(&fields.may("load factor"), &[("exact", LoadFactor::Exact), ("8.34", LoadFactor::Rule834)])
    {
        out.load_factor = value;
    }
    if let Some(span) = fields.may("a level reading holds for").span() {
        match span.value.whole_days().and_then(|days| u32::try_from(days).ok()) {
            Some(days) if days <= 3660 => out.level_holds_days = days,
            _ => fields
                .may("a level reading holds for")
                .refuse("a whole number of days is expected", "write it like 7 days"),
        }
    }
    out
}

fn set<T: Copy>(switch: &mut Switch<T>, field: &Field<'_>, read: impl FnOnce(&Field<'_>) -> Option<T>) {
    if !field.is_there() {
        return;
    }
    if field.says_not_said() {
        *switch = Switch::NotSaid;
    } else if let Some(value) = read(field) {
        *switch = Switch::Is(value);
    }
}

fn one<T: Copy>(field: &Field<'_>, words: &[(&str, T)]) -> Option<T> {
    field.one_of(words).map(|said| said.value)
}

fn day_starts(text: &str) -> Result<NaiveTime, Misread> {
    if text.trim().eq_ignore_ascii_case("calendar day") {
        return Ok(NaiveTime::MIN);
    }
    let Some((from, to)) = text.split_once(" to ") else {
        return Err(Misread::new("a day has two ends with `to` between them")
            .hint("write it like 7 am to 7 am, or midnight to midnight"));
    };
    let (from, to) = (clock(from)?, clock(to)?);
    if from != to {
        return Err(Misread::new("a day ends at the hour at which it starts").hint("write it like 7 am to 7 am"));
    }
    Ok(from)
}

fn substitute(field: &Field<'_>) -> Option<Substitute> {
    field
        .parse("what a result below detection counts as", "zero", |text| {
            let words = text.trim().to_lowercase();
            Ok(match words.as_str() {
                "zero" => Substitute::Zero,
                "half" | "half the detection limit" | "half of the detection limit" => Substitute::Half,
                "detection limit" | "the detection limit" => Substitute::DetectionLimit,
                other => match Number::parse(other) {
                    Some(number) => Substitute::Number(number),
                    None => {
                        return Err(Misread::new(format!("`{other}` is not known here")).hint(
                            "known here: zero, half, detection limit, not said, or a number in the slip's unit",
                        ));
                    }
                },
            })
        })
        .map(|said| said.value)
}

/// `not rounded`, `half up to 1 decimal`, `half even to 2 significant digits`, `half up to the limit's digits`,
/// `cut off to a whole number`.
fn rounding(text: &str) -> Result<RoundingRule, Misread> {
    const HINT: &str = "write it like not rounded, half up to 1 decimal, half even to 2 significant digits, half up to the limit's digits, \
                        cut off to a whole number, or not said";
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    if matches!(text.as_str(), "none" | "not rounded" | "not at all") {
        return Ok(RoundingRule::Fixed(Rounding::Not));
    }
    let refuse = || Misread::new("a rounding that is not understood").hint(HINT);
    let (tie, rest) = [("half up to ", Tie::HalfUp), ("half even to ", Tie::HalfEven), ("cut off to ", Tie::Truncate)]
        .into_iter()
        .find_map(|(words, tie)| text.strip_prefix(words).map(|rest| (tie, rest)))
        .ok_or_else(refuse)?;
    if matches!(rest, "the limit's digits" | "the digits of the limit" | "the limit's decimals") {
        return Ok(RoundingRule::ToTheLimit(tie));
    }
    if matches!(rest, "a whole number" | "whole numbers") {
        return Ok(RoundingRule::Fixed(Rounding::Decimals { places: 0, tie }));
    }
    let (count, what) = rest.split_once(' ').ok_or_else(refuse)?;
    let count: u32 = count.parse().map_err(|_| refuse())?;
    match what {
        "decimal" | "decimals" if count <= 12 => {
            Ok(RoundingRule::Fixed(Rounding::Decimals { places: count as i32, tie }))
        }
        "significant digit" | "significant digits" | "digits" if (1..=15).contains(&count) => {
            Ok(RoundingRule::Fixed(Rounding::Significant { digits: count, tie }))
        }
        _ => Err(refuse()),
    }
}

fn least(text: &str) -> Result<LeastData, Misread> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    match text.as_str() {
        "the sample duty" | "sample duty" => return Ok(LeastData::TheSampleDuty),
        "every discharge" | "every day with a discharge" => return Ok(LeastData::EveryDischarge),
        _ => {}
    }
    let count = text
        .split_once(' ')
        .filter(|(_, what)| {
            matches!(*what, "sample" | "samples" | "result" | "results" | "reading" | "readings" | "days")
        })
        .and_then(|(count, _)| count.parse::<u32>().ok())
        .filter(|count| *count > 0);
    count.map(LeastData::Count).ok_or_else(|| {
        Misread::new("the least data is not understood")
            .hint("write it like 3 samples, the sample duty, every day with a discharge, or not said")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roundings_are_read_as_a_permit_says_them() {
        let fixed = |rounding| Ok(RoundingRule::Fixed(rounding));
        assert_eq!(rounding("Half up to 1 decimal"), fixed(Rounding::Decimals { places: 1, tie: Tie::HalfUp }));
        assert_eq!(
            rounding("half even to 2 significant digits"),
            fixed(Rounding::Significant { digits: 2, tie: Tie::HalfEven })
        );
        assert_eq!(rounding("cut off to a whole number"), fixed(Rounding::Decimals { places: 0, tie: Tie::Truncate }));
        assert_eq!(rounding("half up to the limit's digits"), Ok(RoundingRule::ToTheLimit(Tie::HalfUp)));
        assert!(rounding("up").is_err());
        assert!(rounding("half up to 0 significant digits").is_err());
    }

    #[test]
    fn a_day_that_does_not_end_where_it_starts_is_refused() {
        assert_eq!(day_starts("7 am to 7 am"), Ok(NaiveTime::from_hms_opt(7, 0, 0).unwrap()));
        assert_eq!(day_starts("midnight to midnight"), Ok(NaiveTime::MIN));
        assert!(day_starts("7 am to 6 am").is_err());
        assert!(day_starts("7 am").is_err());
    }

    #[test]
    fn least_data_is_a_count_or_a_duty() {
        assert_eq!(least("3 samples"), Ok(LeastData::Count(3)));
        assert_eq!(least("every discharge"), Ok(LeastData::EveryDischarge));
        assert!(least("some").is_err());
        assert!(least("0 samples").is_err());
    }
}
