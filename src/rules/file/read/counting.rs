//! How a permit counts, for the whole file or for one limit.

use chrono::NaiveTime;

use super::keys::{Counting as Keys, Counts};
use crate::files::shapes::OrNotSaid;
use crate::files::{Fields, Keyed, Reads, Said};
use crate::quantity::{Misread, clock};
use crate::rules::{Counting, LeastData, Number, Rounding, RoundingRule, Substitute, Switch, Tie};

/// Reads the switches that stand in a map over those of `base`. In the file's own section (`whole`) each that the permit
/// could say is asked for by name, `not said` included, so that nothing is left out unseen.
pub(crate) fn read(fields: &mut Fields<'_>, base: Counting, whole: bool) -> Counting {
    let mut out = base;
    if whole {
        out.day_starts = fields.read(&Counts::DAY).map(|said| said.value);
        set(&mut out.week_starts, &fields.get(&Counts::WEEK_STARTS));
    }
    set(&mut out.several, &fields.get(&Keys::SEVERAL));
    set(&mut out.below_detection, &fields.get(&Keys::BELOW_DETECTION));
    if let Some(said) = fields.read(&Keys::BELOW_DETECTION_GEOMETRIC) {
        out.below_detection_geometric = Some(said.value);
    }
    if let Some(said) = fields.read(&Keys::BETWEEN_LEVELS) {
        out.between_levels = said.value;
    }
    for key in [Keys::MONTHLY_DIVISOR, Keys::DIVISOR] {
        out.divisor_of_limit |= !whole && fields.has(key);
        set(&mut out.divisor, &fields.get(&key));
    }
    set(&mut out.weighting, &fields.get(&Keys::WEIGHTING));
    set(&mut out.rounding, &fields.get(&Keys::ROUNDING));
    set(&mut out.least_data, &fields.get(&Keys::LEAST_DATA));
    set(&mut out.dry_look, &fields.get(&Keys::DRY_LOOK));
    set(&mut out.straddling, &fields.get(&Keys::STRADDLING));
    if let Some(said) = fields.read(&Keys::LOAD_FACTOR) {
        out.load_factor = said.value;
    }
    let holds = fields.get(&Keys::LEVEL_HOLDS);
    if let Some(span) = holds.read() {
        match span.value.whole_days().and_then(|days| u32::try_from(days).ok()) {
            Some(days) if days <= 3660 => out.level_holds_days = days,
            _ => holds.refuse("a whole number of days is expected", "write it like 7 days"),
        }
    }
    out
}

fn set<V: Reads<Out = Said<T>>, T>(switch: &mut Switch<T>, field: &Keyed<'_, OrNotSaid<V>>) {
    if field.says_not_said() {
        *switch = Switch::NotSaid;
    } else if let Some(said) = field.read() {
        *switch = Switch::Is(said.value);
    }
}

pub(super) fn day_starts(text: &str) -> Result<NaiveTime, Misread> {
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

pub(super) fn substitute(text: &str) -> Result<Substitute, Misread> {
    let words = text.trim().to_lowercase();
    Ok(match words.as_str() {
        "zero" => Substitute::Zero,
        "half" | "half the detection limit" | "half of the detection limit" => Substitute::Half,
        "detection limit" | "the detection limit" => Substitute::DetectionLimit,
        other => match Number::parse(other) {
            Some(number) => Substitute::Number(number),
            None => {
                return Err(Misread::new(format!("`{other}` is not known here"))
                    .hint("known here: zero, half, detection limit, not said, or a number in the slip's unit"));
            }
        },
    })
}

/// `not rounded`, `half up to 1 decimal`, `half even to 2 significant digits`, `half up to the limit's digits`,
/// `cut off to a whole number`.
pub(super) fn rounding(text: &str) -> Result<RoundingRule, Misread> {
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

pub(super) fn least(text: &str) -> Result<LeastData, Misread> {
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
