//! Numbers written for people: digits in threes, no more of them than are there, enough to tell the side of a limit.

use crate::rules::decimal::ten_to;
use crate::rules::{Number, Tie};

impl Number {
    /// How many decimals write it in full; none where it never ends or is longer than `most`.
    pub fn decimals(self, most: u32) -> Option<u32> {
        let Self::Exact { bottom, .. } = self.settled() else {
            return None;
        };
        (0..=most).find(|places| ten_to(*places).is_some_and(|ten| ten % bottom == 0))
    }

    /// Written with a number of decimals, digits in groups of three: `15,040`, `0.10`.
    pub fn text(self, places: u32) -> String {
        if !self.is_finite() {
            return String::from(if self.to_f64() < 0.0 { "no lower end" } else { "no upper end" });
        }
        let rounded = self.to_places(i64::from(places), Tie::HalfUp);
        let (Self::Exact { top, bottom }, Some(ten)) = (rounded.settled(), ten_to(places)) else {
            return format!("{:.*e}", 3, self.to_f64());
        };
        let Some(scaled) = top.checked_mul(ten) else {
            return format!("{:.*e}", 3, self.to_f64());
        };
        let digits = (scaled / bottom).unsigned_abs();
        let (whole, part) = (digits / ten.unsigned_abs(), digits % ten.unsigned_abs());
        let sign = if top < 0 && digits > 0 { "-" } else { "" };
        let whole = grouped(whole);
        if places == 0 {
            format!("{sign}{whole}")
        } else {
            format!("{sign}{whole}.{part:0width$}", width = places as usize)
        }
    }

    /// Written as it was typed or read: in full where at most `most` decimals do it, else to three significant digits. Of
    /// thousands one decimal is kept, of tens of thousands none.
    pub fn in_full(self, most: u32) -> String {
        self.shown(most, |magnitude| match magnitude {
            4.. => 0,
            3 => 1,
            _ => most,
        })
    }

    /// A figure written for people: in full where few decimals do it, else to three significant digits. Two decimals are
    /// kept of units and tens, one of hundreds and thousands, and three digits of what is below one: more is not known of
    /// anything that is metered, sampled or computed.
    pub fn honest(self, most: u32) -> String {
        self.shown(most, |magnitude| match magnitude {
            4.. => 0,
            2 | 3 => 1,
            0 | 1 => 2,
            below => u32::try_from(2 - below).unwrap_or(most),
        })
    }

    fn shown(self, most: u32, kept: impl Fn(i64) -> u32) -> String {
        match (self.decimals(most), self.settled().magnitude()) {
            (Some(places), magnitude) if matches!(self, Self::Exact { .. }) => {
                self.text(magnitude.map_or(places, |magnitude| places.min(kept(magnitude))))
            }
            (_, Some(magnitude)) => self.text(u32::try_from((2 - magnitude).clamp(0, 12)).unwrap_or(0)),
            _ => self.text(0),
        }
    }

    /// Written beside a limit: with as many digits as it takes to tell on which side of it the number lies.
    pub fn beside(self, limit: Self) -> String {
        let side = self.against(limit);
        let first = self.honest(4);
        let back = |text: &str| Self::parse(&text.replace(',', ""));
        if back(&first).is_some_and(|shown| shown.compare(limit.settled()) == side) {
            return first;
        }
        (0..=12)
            .map(|places| self.text(places))
            .find(|text| back(text).is_some_and(|shown| shown.compare(limit.settled()) == side))
            .unwrap_or(first)
    }
}

fn grouped(value: u128) -> String {
    let digits = value.to_string();
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn n(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    #[test]
    fn a_figure_has_no_more_digits_than_are_known_and_what_was_typed_has_all() {
        for (typed, figure, in_full) in [
            ("7.003", "7.00", "7.003"),
            ("11.75", "11.75", "11.75"),
            ("5.535", "5.54", "5.535"),
            ("0.64583", "0.646", "0.64583"),
            ("0.0313", "0.0313", "0.0313"),
            ("685.3", "685.3", "685.3"),
            ("326.875", "326.9", "326.875"),
            ("9163.75", "9,163.8", "9,163.8"),
            ("458434.624", "458,435", "458,435"),
            ("38", "38", "38"),
        ] {
            assert_eq!((n(typed).honest(6), n(typed).in_full(6)), (figure.to_owned(), in_full.to_owned()));
        }
        assert_eq!(n("458434.4").beside(n("458434.2")), "458,434.4", "the side of the limit shows");
    }
}
