//! The special blocks as plain tables, for CSV, XLSX and JSON.

use crate::page::document::{
    AccountLine, Axis, Basis, Block, Calendar, Carries, Cell, Chart, Column, DayMark, Diagram, Document, Drawing,
    OutcomeTable, Row, Sign, Table, WaterAccount,
};

impl OutcomeTable {
    /// The table of limits as a plain table, one row a limit.
    pub fn to_table(&self) -> Table {
        let heads = ["Limit", "Outcome", "Worst", "Basis", "Allowed", "Margin", "When", "On file"];
        let mut table = Table::new(heads.into_iter().map(Column::words).collect());
        table.caption.clone_from(&self.caption);
        for row in &self.rows {
            table.row(vec![
                row.limit.as_str().into(),
                row.outcome.words().into(),
                row.worst.as_str().into(),
                row.basis.map_or("", |basis| basis.word()).into(),
                row.permit_says.as_str().into(),
                row.margin.as_str().into(),
                row.when.as_str().into(),
                row.how_many.as_str().into(),
            ]);
        }
        table.notes.clone_from(&self.notes);
        table
    }
}

impl WaterAccount {
    /// The account as a plain table: what came in, then what went out, each with its total.
    pub fn to_table(&self) -> Table {
        let mut table = Table::new(vec![Column::words("Line"), Column::figures("Amount", self.unit.clone())]);
        table.caption.clone_from(&self.caption);
        let amount = |line: &AccountLine| {
            if !line.known || line.lacks {
                return Cell::words(line.figure(self.digits));
            }
            Cell { basis: line.basis, ..Cell::number(line.amount, self.digits) }
        };
        for (head, lines, total) in
            [("Came in", &self.came_in, self.total_in), ("Went out", &self.went_out, self.total_out)]
        {
            table.group(head);
            for line in lines {
                table.row(vec![line.name.as_str().into(), amount(line)]);
            }
            let known = !crate::page::document::is_open(lines);
            let total = if known { Cell::number(total, self.digits) } else { Cell::words(self.total(lines, total)) };
            let total = vec![Self::total_name(lines).into(), total];
            match &self.residual {
                Some(residual) => table.closed(total, residual.clone()),
                None => table.sum(total),
            };
        }
        table.notes.clone_from(&self.notes);
        table
    }
}

impl Chart {
    /// The chart's values as a plain table: a row for each place on the axis, a column for each series, and its ends where
    /// it has ranges.
    pub fn to_table(&self) -> Table {
        let mut columns = match &self.axis {
            Axis::Days { .. } => vec![Column::words("Day")],
            Axis::Classes(_) => vec![Column::words("Class")],
            Axis::Measured { quantity, unit, .. } => {
                vec![Column::words("Name"), Column::figures(quantity.clone(), unit.clone())]
            }
        };
        for panel in &self.panels {
            for series in &panel.series {
                let name = format!("{}: {}", panel.quantity, series.name);
                if !series.ranges.is_empty() {
                    columns.push(Column::figures(format!("{name}, least"), panel.unit.clone()));
                    columns.push(Column::figures(format!("{name}, most"), panel.unit.clone()));
                }
                columns.push(Column::figures(name, panel.unit.clone()));
            }
        }
        let mut table = Table::new(columns);
        for place in 0..self.axis.len() {
            let mut cells: Vec<Cell> = vec![self.axis.name(place).into()];
            if let Axis::Measured { places, .. } = &self.axis {
                let basis = self.panels.iter().flat_map(|panel| &panel.series).map(|series| series.basis).next();
                cells.extend(
                    places.get(place).map(|at| Cell::figure(*at, digits(*at), basis.unwrap_or(Basis::Computed))),
                );
            }
            for series in self.panels.iter().flat_map(|panel| &panel.series) {
                let cell = |value: Option<f64>| match value {
                    Some(value) => Cell::figure(value, digits(value), series.basis),
                    None => Cell::nothing(),
                };
                if !series.ranges.is_empty() {
                    let range = series.ranges.get(place).copied().flatten();
                    cells.push(cell(range.map(|range| range.0)));
                    cells.push(cell(range.map(|range| range.1)));
                }
                cells.push(cell(series.values.get(place).copied().flatten()));
            }
            table.rows.push(Row::new(cells));
        }
        table
    }
}

/// Digits that keep four figures.
fn digits(value: f64) -> u8 {
    match value.abs() {
        v if v >= 1000.0 || v == 0.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        v if v >= 1.0 => 3,
        v if v >= 0.1 => 4,
        _ => 6,
    }
}

impl Calendar {
    /// A row for each month, a column for each day.
    pub fn to_table(&self) -> Table {
        let mut columns = vec![Column::words("Month")];
        columns.extend((1..=31).map(|day| Column::words(day.to_string())));
        if self.has_totals() {
            columns.push(Column::words(self.totals.clone()));
            columns.push(Column::words("days"));
        }
        let mut table = Table::new(columns);
        for month in &self.months {
            let mut cells: Vec<Cell> = vec![month.name.as_str().into()];
            cells.extend(month.days.iter().map(|(mark, sample)| {
                let words = if *mark == DayMark::Outside { "" } else { mark.words() };
                Cell::words(if *sample { format!("{words}; sampled") } else { words.to_owned() })
            }));
            cells.resize(32, Cell::words(""));
            if self.has_totals() {
                cells.push(month.total.clone().unwrap_or_else(Cell::nothing));
                let days = month.total.is_some().then(|| month.days_with_water.to_string());
                cells.push(days.map_or_else(Cell::nothing, Cell::words));
            }
            table.row(cells);
        }
        table
    }
}

impl Diagram {
    /// The picture in words, for those who can't see it: every way with its figure.
    pub fn words(&self) -> String {
        let ways: Vec<String> = self
            .ways
            .iter()
            .map(|way| match &way.figure {
                Some(figure) => format!("{} to {} {} {}", way.from, way.to, figure.text, figure.basis.word()),
                None => format!("{} to {}", way.from, way.to),
            })
            .collect();
        format!("Picture of {} places and {} ways: {}.", self.places.len(), ways.len(), ways.join("; "))
    }

    /// The ways as a plain table, then what comes to places and leaves them without one.
    pub fn to_table(&self) -> Table {
        let heads = ["From", "To", "Carries", "Figure", "Basis", "Word"];
        let mut table = Table::new(heads.into_iter().map(Column::words).collect());
        let name = |id: &str| -> String {
            let place = self.places.iter().find(|place| place.id == id);
            let outside = self.outside.iter().find(|name| name.id == id);
            place
                .map(|place| place.name.clone())
                .or_else(|| outside.map(|name| name.name.clone()))
                .unwrap_or_else(|| id.to_owned())
        };
        for way in &self.ways {
            let (figure, basis) = match &way.figure {
                Some(figure) => (figure.text.as_str(), figure.basis.word()),
                None => ("", ""),
            };
            table.row(vec![
                name(&way.from).into(),
                name(&way.to).into(),
                way.carries.words().into(),
                figure.into(),
                basis.into(),
                way.word.as_deref().unwrap_or("").into(),
            ]);
        }
        for place in &self.places {
            for mark in &place.marks {
                let (from, to) = match mark.sign {
                    Sign::Rain => ("", place.name.as_str()),
                    Sign::Up | Sign::Down | Sign::Unaccounted => (place.name.as_str(), ""),
                };
                table.row(vec![
                    from.into(),
                    to.into(),
                    Carries::Water.words().into(),
                    mark.figure.text.as_str().into(),
                    mark.figure.basis.word().into(),
                    mark.words.as_str().into(),
                ]);
            }
        }
        table
    }
}

impl Document {
    /// Everything in the document that can stand in a table, named by its caption: tables, the table of limits, the
    /// account of water, the values of charts, the ways of the diagram.
    pub fn all_tables(&self) -> Vec<(String, Table)> {
        let mut found: Vec<(String, Table)> = Vec::new();
        let mut heading: Option<String> = None;
        for block in &self.blocks {
            let (name, table) = match block {
                Block::Table(table) => (table.caption.clone(), table.clone()),
                Block::Outcomes(table) => {
                    (table.caption.clone().or_else(|| Some("Limits".to_owned())), table.to_table())
                }
                Block::Water(account) => (account.caption.clone(), account.to_table()),
                Block::Figure(figure) => {
                    let table = match &figure.drawing {
                        Drawing::Chart(chart) => chart.to_table(),
                        Drawing::Diagram(diagram) => diagram.to_table(),
                        Drawing::Pond(ponds) => ponds.to_table(),
                        Drawing::Calendar(calendar) => calendar.to_table(),
                    };
                    let caption = match &figure.drawing {
                        Drawing::Diagram(_) => "Ways of the water".to_owned(),
                        _ => figure.caption.trim_end_matches('.').to_owned(),
                    };
                    ((!caption.is_empty()).then_some(caption), table)
                }
                Block::Heading(of) => {
                    heading = Some(of.text.clone());
                    continue;
                }
                _ => continue,
            };
            // A table without a caption goes by the heading it stands under.
            let name = name.or_else(|| heading.take());
            let number = found.len() + 1;
            found.push((name.unwrap_or_else(|| format!("Table {number}")), table));
        }
        found
    }
}
