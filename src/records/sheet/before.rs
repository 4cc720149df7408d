//! What was answered of a sheet when it was last looked at, so that one more answer need not repeat all others.

use std::collections::BTreeMap;

use crate::records::sheet::draft::Answers;
use crate::records::sheet::grid::{Grid, column_of, letters};
use crate::records::sheet::layout::{Layout, layout, one_below_another, side_by_side};
use crate::records::sheet::mapping::{Column, Dates, Mapping, Table};

/// The answers that a mapping holds, by the headings of its sheet, under those given now. A heading that stands for
/// different things on different tabs is left to be looked at anew.
pub(crate) fn with_those_before(grid: &Grid, before: &Mapping, mut now: Answers) -> Answers {
    let same = |of: &dyn Fn(&Table) -> Option<String>| {
        let mut all = before.tables.iter().map(of);
        let first = all.next().flatten()?;
        all.all(|other| other.as_ref() == Some(&first)).then_some(())
    };
    let first = before.tables.first();
    if let Some(table) = first {
        now.time = now.time.or(table.time.filter(|_| same(&|table| Some(format!("{:?}", table.time))).is_some()));
        now.year = now.year.or(table.year.filter(|_| same(&|table| Some(format!("{:?}", table.year))).is_some()));
        now.mark = now.mark.or(Some(table.mark).filter(|_| same(&|table| Some(format!("{:?}", table.mark))).is_some()));
        let order = before.tables.iter().find_map(|table| match table.order {
            Dates::Order(order) => Some(order),
            Dates::DayOfMonth(_) => None,
        });
        now.dates = now.dates.or(order);
    }
    let mut counting = before.tables.iter().flat_map(|table| &table.columns).filter_map(|(_, column)| match column {
        Column::Values { what, since, .. } if matches!(what.as_str(), "washes" | "changed" | "amount") => Some(*since),
        _ => None,
    });
    now.counts = now.counts.or_else(|| counting.next()).or(before.counts);
    now.lost = now.lost.or_else(|| before.lost.clone());
    now.habits = now.habits.over(before.habits);
    now.cells = now.cells.over(&before.cells);
    let mut columns: Vec<(String, Column)> = columns_of(grid, before).into_iter().collect();
    columns.append(&mut now.columns);
    now.columns = columns;
    now
}

/// Each heading with what its column holds; a column without one by its letter.
fn columns_of(grid: &Grid, before: &Mapping) -> BTreeMap<String, Column> {
    let parts: Vec<(String, Layout)> = grid
        .tabs
        .iter()
        .flat_map(side_by_side)
        .flat_map(one_below_another)
        .filter_map(|(tab, _)| Some((tab.name.clone(), layout(&tab)?)))
        .collect();
    let mut held: BTreeMap<String, Option<Column>> = BTreeMap::new();
    for (tab, layout) in &parts {
        let is_of = |table: &&Table| {
            let tabs = table.tabs.is_empty() || table.tabs.iter().any(|name| name.trim() == tab.trim());
            tabs && table.heading_row == layout.heading_row && table.date == layout.date
        };
        let Some(table) = before.tables.iter().find(is_of) else { continue };
        for (at, column) in &table.columns {
            let heading = layout.headings.get(*at).filter(|heading| !heading.is_empty());
            let name = heading.cloned().unwrap_or_else(|| letters(*at));
            held.entry(name)
                .and_modify(|other| {
                    if other.as_ref() != Some(column) {
                        *other = None;
                    }
                })
                .or_insert_with(|| Some(column.clone()));
        }
    }
    // A letter without a heading here may stand under one elsewhere.
    let has_heading = |name: &str| {
        let at = column_of(name);
        parts.iter().any(|(_, layout)| {
            at.and_then(|at| layout.headings.get(at)).is_some_and(|heading| !heading.is_empty() && heading != name)
        })
    };
    held.into_iter()
        .filter_map(|(name, column)| Some((name, column?)))
        .filter(|(name, _)| column_of(name).is_none() || !has_heading(name))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Sources;
    use crate::records::sheet::draft::draft;
    use crate::records::sheet::mapping::column_on_a_line;
    use crate::records::tests::fixture::facility;
    use crate::told::Problems;

    #[test]
    fn one_more_answer_leaves_those_before_as_they_were() {
        let text = "Date,Well,Outfall 1 flow?,Hours\n13.1.2025,100,y,1\n14.1.2025,200,puddle,2\n15.1.2025,300,n,3\n";
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("a.csv"), text).unwrap();
        let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
        let columns = vec![("Well".to_owned(), column_on_a_line("place: M1 well, what: reading").unwrap())];
        let mut first = Answers { columns, ..Answers::default() };
        first.cells.say_look("puddle=dry").unwrap();
        let before = draft(&facility(), &grid, "a.csv", &first);
        assert!(before.questions.is_empty(), "{:?}", before.questions);
        let mut more = Answers::default();
        more.cells.say_look("puddle=flowing").unwrap();
        let now = draft(&facility(), &grid, "a.csv", &with_those_before(&grid, &before.mapping, more));
        assert!(now.questions.is_empty(), "{:?}", now.questions);
        assert_eq!(now.mapping.tables, before.mapping.tables);
        assert_eq!(now.mapping.cells.look("puddle"), Some("flowing"));
        let hours = vec![("Hours".to_owned(), column_on_a_line("note").unwrap())];
        let more = Answers { columns: hours, ..Answers::default() };
        let now = draft(&facility(), &grid, "a.csv", &with_those_before(&grid, &before.mapping, more));
        assert_eq!(now.mapping.tables[0].columns[2].1, Column::Note);
        assert_eq!(now.mapping.tables[0].columns[0], before.mapping.tables[0].columns[0]);
        assert_eq!(now.mapping.cells.look("puddle"), Some("dry"));
    }
}
