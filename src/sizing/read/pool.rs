//! The depth of the settling pool: one, or a range of which one is chosen.

use super::*;
use crate::sizing::PoolRange;

/// The depth, of a range first the least, and the range.
pub(super) fn pool(field: &Keyed<'_, Known<kind::Length>>) -> Option<(Figure, Option<PoolRange>)> {
    let given = field.known::<kind::Length>()?;
    let range = given.stated.known()?;
    let (low, high) = (kind::Length::to_si(range.low), kind::Length::to_si(range.high));
    let (least_m, most_m) = (low.min(high), low.max(high));
    let between = (most_m > least_m).then(|| PoolRange { least_m, most_m, text: given.text.clone() });
    Some((Figure { si: least_m, text: given.text, place: given.place }, between))
}
