//! What was answered of a sheet when it was last looked at, so that one more answer need not repeat all others.

use std::collections::BTreeMap;

use crate::records::sheet::counts::counts_anything;
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
    // A column that does not say what it counts since was not said to be of its day: it may have had a row for every day.
    let counting = before.tables.iter().flat_map(|table| &table.columns).find_map(|(_, column)| match column {
        Column::Values { since: Some(since), .. } if counts_anything(column) => Some(*since),
        _ => None,
    });
    now.counts = now.counts.or(before.counts).or(counting.map(Some));
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
    use crate::records::row::SinceTheLast;
    use crate::records::sheet::apply::apply;
    use crate::records::sheet::draft::{About, draft};
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
        assert_eq!(now.mapping.cells.look("puddle", "Outfall 1"), Some("flowing"));
        let hours = vec![("Hours".to_owned(), column_on_a_line("note").unwrap())];
        let more = Answers { columns: hours, ..Answers::default() };
        let now = draft(&facility(), &grid, "a.csv", &with_those_before(&grid, &before.mapping, more));
        assert_eq!(now.mapping.tables[0].columns[2].1, Column::Note);
        assert_eq!(now.mapping.tables[0].columns[0], before.mapping.tables[0].columns[0]);
        assert_eq!(now.mapping.cells.look("puddle", "Outfall 1"), Some("dry"));
    }

    /// Rows of every day ask nothing of counts. When a later row leaves days out it is asked, and an answer that was given stands.
    #[test]
    fn a_count_that_was_never_asked_about_is_not_taken_to_be_of_its_day() {
        let grid_of = |rows: &str| {
            let folder = tempfile::tempdir().unwrap();
            std::fs::write(folder.path().join("a.csv"), format!("Date,Beds washes\n{rows}")).unwrap();
            Grid::open("a.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap()
        };
        let washes = column_on_a_line("place: Sand beds, what: washes").unwrap();
        let answers = Answers { columns: vec![("Beds washes".to_owned(), washes)], ..Answers::default() };
        let daily = "13.1.2025,2\n14.1.2025,1\n15.1.2025,2\n";
        let before = draft(&facility(), &grid_of(daily), "a.csv", &answers);
        assert!(before.questions.is_empty(), "{:?}", before.questions);
        let later = grid_of(&format!("{daily}19.1.2025,9\n"));
        let told = |mapping: &Mapping| {
            let problems = Problems::new();
            apply(&later, mapping, &problems);
            problems.in_order().iter().map(|problem| problem.message.clone()).collect::<Vec<_>>()
        };
        assert!(
            told(&before.mapping)[0].contains("before the count of 2025-01-19 have no row"),
            "{:?}",
            told(&before.mapping)
        );
        let again = |mapping: &Mapping| {
            draft(&facility(), &later, "a.csv", &with_those_before(&later, mapping, Answers::default()))
        };
        let asked: Vec<About> = again(&before.mapping).questions.into_iter().map(|question| question.about).collect();
        assert!(asked.contains(&About::Counts), "{asked:?}");
        for said in [None, Some(SinceTheLast::Entry)] {
            let answers = Answers { counts: Some(said), lost: Some(Vec::new()), ..answers.clone() };
            let answered = draft(&facility(), &later, "a.csv", &answers).mapping;
            assert!(again(&answered).questions.is_empty(), "{said:?}");
            assert_eq!(again(&answered).mapping, answered);
            assert!(told(&answered).is_empty(), "{:?}", told(&answered));
        }
    }
}
