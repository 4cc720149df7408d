//! Pull lines and push lines, and places that nothing reaches.

use super::Checked;
use crate::facility::graph::{Carries, Line};
use crate::facility::model::{PlaceId, PlaceKind};
use crate::told::{Problem, Severity};

/// A filter draws or is flowed through, never both.
pub(super) fn filters(checked: &Checked) {
    for (id, site) in checked.read() {
        let Some(line) = checked.graph.line(id) else {
            continue;
        };
        let PlaceKind::Filter(filter) = &site.kind else {
            continue;
        };
        match line {
            Line::Pull => {
                for way in checked.graph.ways_to(id).filter(|way| way.carries.is_flow()) {
                    let source =
                        filter.takes_from.first().map(|source| checked.name(*source).to_string()).unwrap_or_default();
                    checked.problems.add(
                        Problem::error(&way.place, format!("nothing can flow into `{}`: it draws its own water, as it says `takes from`", site.name))
                            .hint(format!("send this to `{source}`, from which it draws; or let `{}` say `goes to` in place of `takes from`", site.name))
                            .related(&site.place, format!("`{}` is here", site.name)),
                    );
                }
            }
            Line::Push => {
                let target = filter.goes_to.as_ref().and_then(|to| to.targets().first().copied());
                for way in
                    checked.graph.ways_from(id).filter(|way| matches!(way.carries, Carries::Drawn | Carries::TopUp))
                {
                    let hint = match target.and_then(|target| checked.get(target)) {
                        Some(store) if matches!(store.kind, PlaceKind::Tank(_) | PlaceKind::Pond(_)) => {
                            format!("draw from `{}`, where its water goes", store.name)
                        }
                        _ => format!(
                            "put a tank behind it and draw from the tank; or let `{}` say `takes from`",
                            site.name
                        ),
                    };
                    checked.problems.add(
                        Problem::error(
                            &way.place,
                            format!(
                                "`{}` can't draw from `{}`, which passes on what flows to it",
                                checked.name(way.to),
                                site.name
                            ),
                        )
                        .hint(hint)
                        .related(&site.place, format!("`{}` says `goes to`", site.name)),
                    );
                }
            }
        }
    }
}

/// A flowed-through filter washed from a store that its own line fills: said, because it sets the order of the day.
pub(super) fn wash_order(checked: &Checked) {
    for (id, site) in checked.read().filter(|(id, _)| checked.graph.line(*id) == Some(Line::Push)) {
        for way in checked.graph.ways_to(id).filter(|way| way.carries == Carries::WashSupply) {
            let Some(store) = checked.get(way.from) else {
                continue;
            };
            if matches!(store.kind, PlaceKind::Tank(_) | PlaceKind::Pond(_)) && reaches(checked, way.from, id) {
                checked.problems.add(Problem::new(
                    Severity::Note,
                    &site.place,
                    format!("what overflows from `{}` comes to `{}`, so its wash water is drawn from what `{}` holds at the day's end", store.name, site.name, store.name),
                ));
            }
        }
    }
}

fn reaches(checked: &Checked, from: PlaceId, to: PlaceId) -> bool {
    let mut seen = vec![from];
    let mut at = 0;
    while let Some(here) = seen.get(at).copied() {
        at += 1;
        for way in checked.graph.ways_from(here).filter(|way| way.carries.is_flow()) {
            if way.to == to {
                return true;
            }
            if !seen.contains(&way.to) {
                seen.push(way.to);
            }
        }
    }
    false
}

/// A store that is flowed into must let water out when it is full.
pub(super) fn stores(checked: &Checked) {
    for (id, site) in checked.read() {
        let PlaceKind::Tank(tank) = &site.kind else {
            continue;
        };
        if tank.overflows_to.is_some() {
            continue;
        }
        if let Some(way) = checked.graph.ways_to(id).find(|way| way.carries.is_flow()) {
            checked.problems.add(
                Problem::error(&site.place, format!("water has nowhere to go when `{}` is full", site.name))
                    .hint("write `overflows to` with the place that it really runs to")
                    .related(&way.place, format!("`{}` flows into it", checked.name(way.from))),
            );
        }
    }
}

/// Places that no water reaches, or that nobody draws from: told, not refused.
pub(super) fn unused(checked: &Checked) {
    if !checked.is_whole() {
        return;
    }
    for (id, site) in checked.read() {
        let drawn = || checked.graph.ways_from(id).next().is_some();
        let (message, hint) = match &site.kind {
            PlaceKind::Supply(_) if !drawn() => {
                ("nothing draws from", "name it where a use, filter, tank or pond draws; or take it out")
            }
            PlaceKind::Filter(_) => match checked.graph.line(id) {
                Some(Line::Pull)
                    if !checked
                        .graph
                        .ways_from(id)
                        .any(|way| matches!(way.carries, Carries::Drawn | Carries::TopUp)) =>
                {
                    (
                        "nothing draws from",
                        "a use, transfer or tank that draws through it says `takes from` or `filled from`",
                    )
                }
                Some(Line::Push) if !checked.graph.ways_to(id).any(|way| way.carries.is_flow()) => {
                    ("nothing flows to", "name it where a catchment, use or filter says `goes to`")
                }
                _ => continue,
            },
            PlaceKind::Tank(_)
                if !checked.graph.ways_to(id).any(|way| way.carries.is_flow() || way.carries == Carries::TopUp) =>
            {
                ("nothing flows to", "say `filled from`, or name it where something says `goes to`")
            }
            _ => continue,
        };
        checked.problems.add(Problem::warning(&site.place, format!("{message} `{}`", site.name)).hint(hint));
    }
}

/// Filters that draw from one another in a ring.
pub(super) fn pull_loops(checked: &Checked) {
    let mut told: Vec<PlaceId> = Vec::new();
    let mut clear: Vec<bool> = vec![false; checked.places.len()];
    for (start, _) in checked.read() {
        // Walks against the water, keeping the way back; a filter met again on the walk is a ring.
        let mut stack: Vec<(PlaceId, usize)> = vec![(start, 0)];
        while let Some((at, child)) = stack.pop() {
            if clear.get(at.0).copied().unwrap_or(true) {
                continue;
            }
            let sources: &[PlaceId] = match checked.get(at).map(|site| &site.kind) {
                Some(PlaceKind::Filter(filter)) => &filter.takes_from,
                _ => &[],
            };
            let Some(next) = sources.get(child).copied() else {
                if let Some(flag) = clear.get_mut(at.0) {
                    *flag = true;
                }
                continue;
            };
            stack.push((at, child + 1));
            if let Some(from) = stack.iter().position(|(held, _)| *held == next) {
                let ring: Vec<PlaceId> = stack.iter().skip(from).map(|(held, _)| *held).collect();
                if let Some(first) = ring.iter().min().copied()
                    && !told.contains(&first)
                {
                    told.push(first);
                    tell_ring(checked, &ring, first);
                }
                if let Some(flag) = clear.get_mut(next.0) {
                    *flag = true;
                }
                continue;
            }
            stack.push((next, 0));
        }
    }
}

fn tell_ring(checked: &Checked, ring: &[PlaceId], first: PlaceId) {
    let Some(site) = checked.get(first) else {
        return;
    };
    let mut problem =
        Problem::error(&site.place, "these filters draw from one another, and none from a supply, tank or pond")
            .as_list();
    for (at, id) in ring.iter().enumerate() {
        let from = ring.get((at + 1) % ring.len()).copied().unwrap_or(*id);
        if let Some(filter) = checked.get(*id) {
            problem = problem.related(&filter.place, format!("`{}` takes from `{}`", filter.name, checked.name(from)));
        }
    }
    checked
        .problems
        .add(problem.hint("let the first of them take from the supply, tank or pond that the water comes from"));
}
