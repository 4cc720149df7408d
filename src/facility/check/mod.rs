//! What must hold between places: lines, ends, loops, meters.

mod lines;
mod meters;
mod weather;

use crate::facility::graph::{self, Graph};
use crate::facility::model::{Meter, PlaceId, SitePlace};
use crate::told::{Problem, Problems};
pub(super) use weather::Typed;

/// All places that could be read, with the ways between them.
pub(super) struct Checked<'a> {
    places: &'a [Option<SitePlace>],
    graph: &'a Graph,
    problems: &'a Problems,
}

impl Checked<'_> {
    fn get(&self, id: PlaceId) -> Option<&SitePlace> {
        self.places.get(id.0).and_then(Option::as_ref)
    }

    fn name(&self, id: PlaceId) -> &str {
        self.get(id).map_or("?", |site| site.name.as_str())
    }

    fn read(&self) -> impl Iterator<Item = (PlaceId, &SitePlace)> {
        self.places.iter().enumerate().filter_map(|(at, site)| site.as_ref().map(|site| (PlaceId(at), site)))
    }

    /// Whether every place could be read: else what seems to be missing may only be unread.
    fn is_whole(&self) -> bool {
        self.places.iter().all(Option::is_some)
    }
}

/// Checks everything that takes more than one place to see. A place that could not be read is `None`.
pub(super) fn all(places: &[Option<SitePlace>], meters: &[Meter], typed: &Typed, problems: &Problems) {
    let read = places.iter().enumerate().filter_map(|(at, site)| site.as_ref().map(|site| (PlaceId(at), site)));
    let graph = Graph::from_places(places.len(), read);
    let checked = Checked { places, graph: &graph, problems };
    lines::filters(&checked);
    lines::stores(&checked);
    lines::wash_order(&checked);
    lines::unused(&checked);
    loops(&checked);
    lines::pull_loops(&checked);
    meters::all(&checked, meters);
    weather::all(&checked, typed);
}

fn loops(checked: &Checked) {
    for ways in graph::loops(checked.places.len(), checked.graph) {
        let Some(first) = ways.first() else { continue };
        let mut problem =
            Problem::error(&first.place, "these flows come back to where they started within one day").as_list();
        for way in &ways {
            problem = problem.related(
                &way.place,
                format!("`{}`: {} to `{}`", checked.name(way.from), way.carries.words(), checked.name(way.to)),
            );
        }
        checked.problems.add(problem.hint(
            "A flow passes on in the same day. Make one of them a tank or pond with a volume, and write `takes from` where a pump draws from it.",
        ));
    }
}
