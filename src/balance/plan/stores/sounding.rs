//! Where sludge goes that a sounding found more or less than computed.

use crate::balance::plan::SoundingPlan;
use crate::balance::plan::build::Builder;
use crate::balance::{Node, Purpose};
use crate::facility::model::PlaceId;
use crate::records::LevelKind;

/// The edges of a pond's soundings, if there are any that count.
pub(super) fn sounding(
    b: &mut Builder<'_>,
    id: PlaceId,
    name: &str,
    has_sludge: bool,
    made_of: Vec<f64>,
) -> Option<SoundingPlan> {
    let sounded = b.input.timeline.levels.iter().any(|record| record.at == id && record.kind == LevelKind::SludgeDepth);
    if sounded && !has_sludge {
        b.notes.push(format!(
            "{name}: its sludge was sounded, but nothing is typed under `sludge`, so the soundings do not enter the balance"
        ));
    }
    (sounded && has_sludge).then(|| SoundingPlan {
        out: b.edge(Node::Sludge(id), Node::Unaccounted, Purpose::Unaccounted, false),
        back: b.edge(Node::Unaccounted, Node::Sludge(id), Purpose::Unaccounted, false),
        made_of: b.ps(made_of),
    })
}
