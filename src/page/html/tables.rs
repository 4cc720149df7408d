//! Tables, the table of limits, the account of water.

use maud::{Markup, html};

use crate::page::document::{
    AccountLine, Align, Basis, Cell, OutcomeForm, OutcomeRow, OutcomeTable, Row, RowKind, Table, Value, WaterAccount,
};
use crate::page::html::blocks::Writer;
use crate::page::html::drawing;

/// A figure in the cut of its basis: upright if it was measured; computed and assumed ones slope.
fn cut(words: &str, basis: Option<Basis>) -> Markup {
    match basis {
        Some(Basis::Computed | Basis::Assumed) => html! { i { (words) } },
        _ => html! { (words) },
    }
}

/// The class that draws an outcome's form.
fn form(outcome: OutcomeForm) -> &'static str {
    match outcome {
        OutcomeForm::Met => "met",
        OutcomeForm::Exceeded | OutcomeForm::BelowMinimum | OutcomeForm::OutsideRange => "over",
        OutcomeForm::NotShown => "not-shown",
        OutcomeForm::NoDischarge => "no-discharge",
        OutcomeForm::NotInForce | OutcomeForm::NotEvaluable => "not-in-force",
        OutcomeForm::PredictedWithin => "within",
        OutcomeForm::PredictedOutside => "outside",
        OutcomeForm::Undecided => "undecided",
    }
}

/// Digits after the mark of every figure of a column; figures with fewer are filled up out of sight, so that marks align.
fn digits_of(table: &Table, column: usize) -> usize {
    let cells = table.rows.iter().filter_map(|row| row.cells.get(column));
    cells
        .filter_map(|cell| match cell.value {
            Value::Number { digits, .. } => Some(usize::from(digits)),
            _ => None,
        })
        .max()
        .unwrap_or(0)
}

impl Writer<'_> {
    /// A table.
    pub fn table(&self, table: &Table) -> Markup {
        let digits: Vec<usize> = (0..table.columns.len()).map(|column| digits_of(table, column)).collect();
        let has_folio = table.rows.iter().any(|row| row.folio.is_some());
        let heads = table.columns.iter().any(|column| !column.head.is_empty());
        html! {
            div.scroll tabindex="0" role="region" aria-label=(table.caption.as_deref().unwrap_or("Table")) {
                table {
                    @if let Some(caption) = &table.caption { caption { (caption) } }
                    @if heads {
                        thead {
                            tr {
                                @for column in &table.columns {
                                    th scope="col" class=[(column.align != Align::Left).then_some("n")] {
                                        (column.head)
                                        @if let Some(unit) = &column.unit { ", " span.unit { (unit) } }
                                    }
                                }
                                @if has_folio { th.folio scope="col" { "Trace" } }
                            }
                        }
                    }
                    tbody {
                        @for row in &table.rows { (self.row(table, row, &digits, has_folio)) }
                    }
                }
            }
            (self.notes(&table.notes))
        }
    }

    fn row(&self, table: &Table, row: &Row, digits: &[usize], has_folio: bool) -> Markup {
        let across = table.columns.len() + usize::from(has_folio);
        let class = match row.kind {
            RowKind::Plain => None,
            RowKind::Group => Some("group"),
            RowKind::Sum => Some("sum"),
            RowKind::Closed { .. } => Some("closed"),
        };
        html! {
            tr class=[class] {
                @if row.kind == RowKind::Group {
                    th scope="rowgroup" colspan=(across) { (self.cell_words(row.cells.first())) }
                } @else {
                    @for (at, column) in table.columns.iter().enumerate() {
                        @let cell = row.cells.get(at);
                        @if at == 0 && column.align == Align::Left {
                            th scope="row" { (self.cell_words(cell)) }
                        } @else {
                            td class=[(column.align != Align::Left).then_some("n")] {
                                (self.cell(cell, digits.get(at).copied().unwrap_or(0), column.align == Align::Decimal))
                            }
                        }
                    }
                    @if has_folio { td.folio { (row.folio.as_deref().unwrap_or("")) } }
                }
            }
            @if let RowKind::Closed { residual } = &row.kind {
                tr.residual { td colspan=(across) { (residual) } }
            }
        }
    }

    /// The words of a cell; a day or a month alone leads to its days on the picture.
    fn cell_words(&self, cell: Option<&Cell>) -> Markup {
        let Some(cell) = cell else { return html! {} };
        let Value::Words(text) = &cell.value else { return self.cell(Some(cell), 0, false) };
        let words = text.words();
        let target = self.days.and_then(|days| days.target(&words));
        html! {
            @match target {
                Some(target) if cell.basis.is_none() && cell.mark.is_none() => a href={ "#" (target) } { (words) },
                _ => (self.cell(Some(cell), 0, false)),
            }
        }
    }

    fn cell(&self, cell: Option<&Cell>, digits: usize, aligned: bool) -> Markup {
        let Some(cell) = cell else { return html! {} };
        let filler = match cell.value {
            Value::Number { digits: own, .. } if aligned && usize::from(own) < digits => {
                let dot = if own == 0 { "." } else { "" };
                format!("{dot}{}", "0".repeat(digits - usize::from(own)))
            }
            _ => String::new(),
        };
        html! {
            @match &cell.value {
                Value::Words(text) if cell.basis.is_none() => {
                    (self.text(text))
                    @if let Some(mark) = &cell.mark { " (" (mark) ")" }
                }
                _ => (cut(&cell.text(), cell.basis)),
            }
            @if !filler.is_empty() { span.filler aria-hidden="true" { (filler) } }
        }
    }

    /// The table of limits.
    pub fn outcomes(&self, table: &OutcomeTable) -> Markup {
        let heads = ["Limit", "Outcome", "Worst we have", "When", "At most", "Margin", "How many"];
        html! {
            div.scroll tabindex="0" role="region" aria-label="Limits" {
                table.limits {
                    caption class=[table.caption.is_none().then_some("unseen")] {
                        (table.caption.as_deref().unwrap_or("Limits, worst first"))
                    }
                    thead { tr { @for head in heads { th scope="col" { (head) } } } }
                    tbody { @for row in &table.rows { (self.outcome(row)) } }
                }
            }
            @if let Some((words, anchors)) = &table.more { p { (self.link(words, anchors.first().map_or("", String::as_str))) } }
            (self.notes(&table.notes))
        }
    }

    fn outcome(&self, row: &OutcomeRow) -> Markup {
        let anchor = row.anchor.as_deref();
        let worst = row.basis.map_or_else(|| row.worst.clone(), |basis| basis.dress(&row.worst));
        let working = anchor.filter(|_| !row.worst.is_empty()).and_then(|anchor| self.working(anchor));
        html! {
            tr {
                th scope="row" {
                    @match anchor { Some(anchor) => (self.link(&row.limit, anchor)), None => (row.limit) }
                }
                td { span class={ "outcome " (form(row.outcome)) } { (row.outcome.words()) } }
                td {
                    @let figure = html! { span title=[row.basis.map(Basis::word)] { (cut(dash(&worst), row.basis)) } };
                    @match working {
                        Some(name) => a.opens href={ "#working-" (name) } { (figure) },
                        None => (figure),
                    }
                }
                td { (dash(&row.when)) }
                td { (dash(&row.permit_says)) }
                td.margin {
                    @if let Some(strip) = &row.strip { (drawing::strip(strip)) }
                    " " (dash(&row.margin))
                }
                td.small { (row.how_many) }
            }
        }
    }

    /// The account of water.
    pub fn water(&self, account: &WaterAccount) -> Markup {
        html! {
            div.account {
                h3 { (account.caption.as_deref().unwrap_or("Water")) ", " (account.unit) }
                div.halves {
                    (self.half("Came in", &account.came_in, account.total_in, account))
                    (self.half("Went out", &account.went_out, account.total_out, account))
                }
                @if let Some(residual) = &account.residual { p.small { (residual) } }
                @for note in &account.notes { p { (self.text(note)) } }
            }
        }
    }

    fn half(&self, head: &str, lines: &[AccountLine], total: f64, account: &WaterAccount) -> Markup {
        html! {
            table class=[account.residual.is_some().then_some("closes")] {
                caption.unseen { (head) ", " (account.unit) }
                thead { tr { th scope="col" { (head) } th.n scope="col" { (account.unit) } th scope="col" { "Known" } } }
                tbody {
                    @for line in lines {
                        tr class=[line.unaccounted.then_some("unaccounted")] {
                            th scope="row" {
                                @match self.page.breakdowns.get(&line.name) {
                                    Some(table) => details { summary { (line.name) } (self.table(table)) },
                                    None => (line.name),
                                }
                            }
                            td.n {
                                @let figure = line.figure(account.digits);
                                (cut(&line.basis.map_or_else(|| figure.clone(), |basis| basis.dress(&figure)), line.basis))
                            }
                            td.small { (line.basis.map_or("", Basis::word)) }
                        }
                    }
                }
                tfoot { tr.sum { th scope="row" { (WaterAccount::total_name(lines)) } td.n { (account.total(lines, total)) } td {} } }
            }
        }
    }
}

fn dash(words: &str) -> &str {
    if words.is_empty() { "–" } else { words }
}
