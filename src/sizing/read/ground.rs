//! How the ground lies about the pond, as the duties file writes it.

use super::*;
use crate::sizing::{Datum, Ground};

const LEVEL_HINT: &str =
    "write `2 ft below the bank top`, `1 ft above the spill level` or `level with the spill level`";

/// `2 ft below the bank top`, `level with the spill level`: how far below what it is said from, m, and that.
pub(super) fn ground_level(text: &str) -> Result<(f64, Datum), Misread> {
    let refuse = || Misread::new(format!("`{}` does not say how high the ground lies", text.trim())).hint(LEVEL_HINT);
    let lower = text.trim().to_lowercase();
    let (rest, from) = [("bank top", Datum::BankTop), ("spill level", Datum::SpillLevel)]
        .into_iter()
        .find_map(|(word, from)| Some((lower.strip_suffix(word)?.trim_end(), from)))
        .ok_or_else(refuse)?;
    let rest = rest.strip_suffix("the").unwrap_or(rest).trim_end();
    if rest == "level with" {
        return Ok((0.0, from));
    }
    let (depth, sign) = [("below", 1.0), ("above", -1.0)]
        .into_iter()
        .find_map(|(word, sign)| Some((rest.strip_suffix(word)?, sign)))
        .ok_or_else(refuse)?;
    let range = crate::quantity::range::<kind::Length>(depth.trim())?;
    if range.low != range.high {
        return Err(Misread::new("a design needs one level here, not a range").hint(LEVEL_HINT));
    }
    Ok((sign * range.low.value, from))
}

pub(super) fn ground(field: &Field<'_>, plot: Option<&super::Plot>, freeboard: Option<&Figure>) -> Option<Ground> {
    let mut fields = field.map::<keys::Ground>()?;
    let level = fields.read(&keys::Ground::LEVEL);
    let outer = ratio(
        &fields.get(&keys::Ground::OUTER),
        "sides rise higher than they run: run comes first, and earth does not stand so steep",
    );
    let shrinks = figure(&fields.get(&keys::Ground::SHRINKS));
    let swells = figure(&fields.get(&keys::Ground::SWELLS));
    if let Some(all) = shrinks.as_ref().filter(|share| share.si >= 1.0) {
        fields.problems().add(
            Problem::error(&all.place, "no cut would be left to make a bank of")
                .hint("write what compacting takes of it, like 15 %"),
        );
        return None;
    }
    let level = level?;
    let (below_m, from) = level.value;
    let ground =
        Ground { below_m, from, text: level.text, outer: outer?, shrinks, swells, place: field.key_place.clone() };
    if freeboard.is_some_and(|freeboard| ground.over_top_m(freeboard.si) > 1e-9) {
        fields.problems().add(
            Problem::error(&level.place, "the ground would lie over the bank top, and run into the pond")
                .hint("the bank top is at least as high as the ground: more `freeboard`, or a lower level here"),
        );
        return None;
    }
    let needs_bank = freeboard.is_some_and(|freeboard| ground.lie(freeboard.si).below_top_m > 0.0);
    if needs_bank && plot.is_some_and(|plot| plot.bank.as_ref().is_none_or(|bank| bank.si <= 0.0)) {
        field.refuse(
            "the banks stand over the ground, and nothing says how wide their tops are",
            "write `bank all round: 6 ft` in `plot`",
        );
        return None;
    }
    fields.finish();
    Some(ground)
}
