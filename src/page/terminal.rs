//! Plain text for a terminal of 80 columns: the summary, without colour.

use crate::page::document::{
    Basis, Block, Definition, Document, Drawing, OutcomeForm, OutcomeTable, RowKind, Table, Text, WaterAccount, figures,
};

/// Columns of the terminal that everything fits.
pub const COLUMNS: usize = 80;

/// The summary: title, and what stands before the document's first page break.
pub fn render(doc: &Document) -> String {
    render_blocks(doc, doc.first_page())
}

/// Title and the given blocks.
pub fn render_blocks(doc: &Document, blocks: &[Block]) -> String {
    let mut out = Lines::default();
    let title = format!("{}: {}", doc.title, doc.facility);
    out.wrapped(&title, 0, 0);
    if doc.working_copy {
        out.wrapped("WORKING COPY: the data are not complete.", 0, 0);
    }
    out.pair("Period", &doc.period, 8);
    for (label, words) in &doc.permit_lines {
        out.pair(label, words, 8);
    }
    out.rule('=');
    for block in blocks {
        out.block(block);
    }
    out.rule('-');
    out.wrapped("The holder's own figures. The permitting authority decides.", 0, 0);
    out.text
}

/// How many columns a character takes.
fn columns_of(c: char) -> usize {
    match c as u32 {
        0x1100..=0x115F
        | 0x2E80..=0xA4CF
        | 0xAC00..=0xD7A3
        | 0xF900..=0xFAFF
        | 0xFE30..=0xFE6F
        | 0xFF00..=0xFF60
        | 0xFFE0..=0xFFE6
        | 0x1F300..=0x1FAFF
        | 0x20000..=0x3FFFD => 2,
        0x300..=0x36F | 0x200B..=0x200F | 0x202A..=0x202E | 0x2060..=0x206F | 0xFE00..=0xFE0F => 0,
        _ => 1,
    }
}

fn width(text: &str) -> usize {
    text.chars().map(columns_of).sum()
}

/// Words without controls or direction marks: a terminal must not be steered by what a user's file says.
fn safe(text: &str) -> String {
    text.chars()
        .map(|c| if matches!(c, '\n' | '\r' | '\t') { ' ' } else { c })
        .filter(|c| !c.is_control() && (columns_of(*c) > 0 || matches!(*c as u32, 0x300..=0x36F)))
        .collect()
}

/// Words that stay together: what is tied is one word while it fits, and falls apart at its ties where it does not.
fn tied_words(text: &str, room: usize) -> impl Iterator<Item = &str> {
    text.split(' ').flat_map(move |word| {
        let apart = width(word) > room;
        word.split(move |c| apart && c == figures::TIE)
    })
}

/// Lines no wider than `room`; longer words are cut.
fn wrap(text: &str, room: usize) -> Vec<String> {
    let room = room.max(1);
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut used = 0;
    let mut cut = |line: &mut String, used: &mut usize| {
        let shown = std::mem::take(line).replace([figures::THIN, figures::TIE], " ");
        lines.push(shown);
        *used = 0;
    };
    for word in tied_words(&safe(text), room).filter(|word| !word.is_empty()) {
        let wide = width(word);
        if used > 0 && used + 1 + wide > room {
            cut(&mut line, &mut used);
        }
        if used > 0 {
            line.push(' ');
            used += 1;
        }
        for c in word.chars() {
            let wide = columns_of(c);
            if used + wide > room && used > 0 {
                cut(&mut line, &mut used);
            }
            line.push(c);
            used += wide;
        }
    }
    if !line.is_empty() {
        cut(&mut line, &mut used);
    }
    if lines.is_empty() {
        lines.push(String::new());
    }
    lines
}

fn padded(text: &str, room: usize, right: bool) -> String {
    let space = " ".repeat(room.saturating_sub(width(text)));
    if right { format!("{space}{text}") } else { format!("{text}{space}") }
}

/// Words with brackets where type alone would tell on paper.
fn words(text: &Text) -> String {
    text.words()
}

#[derive(Default)]
struct Lines {
    text: String,
}

impl Lines {
    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    fn rule(&mut self, c: char) {
        self.line(&c.to_string().repeat(COLUMNS));
    }

    fn wrapped(&mut self, text: &str, first: usize, rest: usize) {
        let room = COLUMNS - first.max(rest);
        for (i, line) in wrap(text, room).iter().enumerate() {
            let indent = if i == 0 { first } else { rest };
            self.line(&format!("{}{line}", " ".repeat(indent)));
        }
    }

    fn pair(&mut self, label: &str, text: &str, room: usize) {
        self.row(&[(label, room, false), (text, COLUMNS - room - 2, false)], 0);
    }

    /// Cells side by side, each wrapped to its room.
    fn row(&mut self, cells: &[(&str, usize, bool)], indent: usize) {
        let wrapped: Vec<Vec<String>> = cells.iter().map(|(text, room, _)| wrap(text, *room)).collect();
        let tall = wrapped.iter().map(Vec::len).max().unwrap_or(0);
        for i in 0..tall {
            let mut line = " ".repeat(indent);
            for (n, ((_, room, right), lines)) in cells.iter().zip(&wrapped).enumerate() {
                if n > 0 {
                    line.push_str("  ");
                }
                let part = lines.get(i).map_or("", String::as_str);
                line.push_str(&padded(part, *room, *right));
            }
            self.line(&line);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(heading) => {
                self.gap();
                self.wrapped(&heading.text, 0, 0);
                if heading.level <= 2 {
                    let long = wrap(&heading.text, COLUMNS).iter().map(|l| width(l)).max();
                    self.line(&"-".repeat(long.unwrap_or(0)));
                }
            }
            Block::Paragraph(paragraph) => {
                self.wrapped(&words(&paragraph.text), 0, 0);
            }
            Block::List(list) => {
                for (i, item) in list.items.iter().enumerate() {
                    let label = if list.numbered { format!("{}.", i + 1) } else { "-".to_owned() };
                    let room = if list.numbered { 4 } else { 1 };
                    let text = words(item);
                    self.row(&[(&label, room, false), (&text, COLUMNS - room - 4, false)], 2);
                }
            }
            Block::Definitions(rows) | Block::Margin(rows) => self.definitions(rows),
            Block::Table(table) => self.table(table),
            Block::Outcomes(table) => self.outcomes(table),
            Block::Water(account) => self.water(account),
            Block::Caution(caution) => {
                self.gap();
                self.wrapped(&caution.head, 0, 0);
                for text in &caution.text {
                    self.wrapped(&words(text), 2, 2);
                }
            }
            Block::Signature(_) | Block::Contents | Block::PageBreak => {}
            Block::Figure(figure) => {
                let what = match figure.drawing {
                    Drawing::Chart(_) => "Chart",
                    Drawing::Diagram(_) => "Diagram",
                    Drawing::Calendar(_) => "Calendar",
                    Drawing::Pond(_) => "Plan and section",
                };
                self.wrapped(&format!("[{what}: {}]", figure.alt), 0, 2);
            }
        }
    }

    fn definitions(&mut self, rows: &[Definition]) {
        let widest = rows.iter().map(|row| width(&row.term)).max().unwrap_or(0);
        let room = widest.clamp(6, 18);
        for row in rows {
            let text = words(&row.text);
            self.row(&[(&row.term, room, false), (&text, COLUMNS - room - 4, false)], 2);
        }
    }

    fn outcomes(&mut self, table: &OutcomeTable) {
        self.gap();
        if let Some(caption) = &table.caption {
            self.wrapped(caption, 0, 0);
        }
        self.rule('-');
        let rooms = [19, 19, 13, 10, 11];
        let heads = ["Limit", "Outcome", "Worst we have", "Allowed", "When"];
        let cells: Vec<(&str, usize, bool)> =
            heads.iter().zip(rooms).map(|(head, room)| (*head, room, false)).collect();
        self.row(&cells, 0);
        self.rule('-');
        for row in &table.rows {
            let outcome = outcome_words(row.outcome);
            let worst = row.basis.map_or_else(|| row.worst.clone(), |b| b.dress(&row.worst));
            let cells = [row.limit.as_str(), &outcome, or_dash(&worst), &row.permit_says, or_dash(&row.when)];
            let cells: Vec<(&str, usize, bool)> =
                cells.iter().zip(rooms).map(|(text, room)| (*text, room, false)).collect();
            self.row(&cells, 0);
            let basis = row.basis.map(Basis::word).unwrap_or_default();
            let more: Vec<&str> = [row.margin.as_str(), basis, row.how_many.as_str()]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect();
            if !more.is_empty() {
                self.wrapped(&more.join("; "), 21, 21);
            }
        }
        if let Some((words, _)) = &table.more {
            self.wrapped(words, 0, 4);
        }
        self.rule('-');
        for note in &table.notes {
            self.wrapped(&words(note), 0, 4);
        }
    }

    fn water(&mut self, account: &WaterAccount) {
        self.gap();
        let caption = match &account.caption {
            Some(caption) => format!("{caption}, {}", account.unit),
            None => account.unit.clone(),
        };
        self.wrapped(&caption, 0, 0);
        for (head, lines, total) in
            [("Came in", &account.came_in, account.total_in), ("Went out", &account.went_out, account.total_out)]
        {
            self.wrapped(head, 2, 2);
            for line in lines {
                let figure = line.figure(account.digits);
                let figure = line.basis.map_or_else(|| figure.clone(), |b| b.dress(&figure));
                let name = if line.unaccounted { line.name.to_uppercase() } else { line.name.clone() };
                let basis = line.basis.map(Basis::word).unwrap_or_default();
                self.row(&[(&name, 46, false), (&figure, 14, true), (basis, 8, false)], 4);
            }
            let figure = account.total(lines, total);
            self.row(&[(WaterAccount::total_name(lines), 46, false), (&figure, 14, true)], 4);
        }
        if let Some(residual) = &account.residual {
            self.wrapped(residual, 2, 2);
        }
        for note in &account.notes {
            self.wrapped(&words(note), 2, 2);
        }
    }

    fn table(&mut self, table: &Table) {
        self.gap();
        if let Some(caption) = &table.caption {
            self.wrapped(caption, 0, 0);
        }
        let count = table.columns.len();
        let mut rooms: Vec<usize> =
            table.columns.iter().map(|column| width(&safe(&column.head_with_unit())).min(16)).collect();
        for row in table.rows.iter().filter(|row| row.kind != RowKind::Group) {
            for (room, cell) in rooms.iter_mut().zip(&row.cells) {
                *room = (*room).max(width(&safe(&cell.text())));
            }
        }
        let spare = COLUMNS.saturating_sub(2 * count.saturating_sub(1));
        // No column gets so narrow that a figure is cut.
        let mut least: Vec<usize> = vec![8; count];
        for row in table.rows.iter().filter(|row| row.kind != RowKind::Group) {
            for (least, cell) in least.iter_mut().zip(&row.cells) {
                let text = safe(&cell.text());
                let longest = tied_words(&text, 0).map(width).max().unwrap_or(0);
                *least = (*least).max(longest.min(16));
            }
        }
        while rooms.iter().sum::<usize>() > spare {
            match rooms.iter_mut().zip(&least).filter(|(room, least)| **room > **least).max_by_key(|(room, _)| **room) {
                Some((widest, _)) => *widest -= 1,
                None => break,
            }
        }
        if rooms.iter().sum::<usize>() > spare {
            self.stacked(table);
        } else {
            self.rule('-');
            let heads: Vec<String> = table.columns.iter().map(crate::page::document::Column::head_with_unit).collect();
            let right = |i: usize| {
                table.columns.get(i).is_some_and(|column| column.align != crate::page::document::Align::Left)
            };
            let cells: Vec<(&str, usize, bool)> = heads
                .iter()
                .zip(&rooms)
                .enumerate()
                .map(|(i, (head, room))| (head.as_str(), *room, right(i)))
                .collect();
            self.row(&cells, 0);
            self.rule('-');
            for row in &table.rows {
                let texts: Vec<String> = row.cells.iter().map(crate::page::document::Cell::text).collect();
                if row.kind == RowKind::Group {
                    self.wrapped(texts.first().map_or("", String::as_str), 0, 0);
                    continue;
                }
                let cells: Vec<(&str, usize, bool)> = texts
                    .iter()
                    .zip(&rooms)
                    .enumerate()
                    .map(|(i, (text, room))| (text.as_str(), *room, right(i)))
                    .collect();
                if row.kind != RowKind::Plain {
                    self.rule('-');
                }
                self.row(&cells, 0);
                if let RowKind::Closed { residual } = &row.kind {
                    self.rule('=');
                    self.wrapped(residual, 0, 0);
                }
            }
            self.rule('-');
        }
        for note in &table.notes {
            self.wrapped(&words(note), 0, 4);
        }
    }

    /// A table too wide for the terminal: each row as lines of head and value.
    fn stacked(&mut self, table: &Table) {
        for row in &table.rows {
            self.gap();
            for (column, cell) in table.columns.iter().zip(&row.cells) {
                let head = column.head_with_unit();
                let text = cell.text();
                self.row(&[(&head, 22, false), (&text, COLUMNS - 26, false)], 2);
            }
        }
    }
}

fn outcome_words(form: OutcomeForm) -> String {
    match form {
        OutcomeForm::Exceeded | OutcomeForm::BelowMinimum | OutcomeForm::OutsideRange | OutcomeForm::NotShown => {
            form.words().to_uppercase()
        }
        OutcomeForm::PredictedWithin | OutcomeForm::PredictedOutside | OutcomeForm::Undecided => {
            format!("[{}]", form.words())
        }
        OutcomeForm::Met | OutcomeForm::NoDischarge | OutcomeForm::NotInForce | OutcomeForm::NotEvaluable => {
            form.words().to_owned()
        }
    }
}

fn or_dash(text: &str) -> &str {
    if text.is_empty() { "-" } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_with_its_range_breaks_between_its_words_and_not_within_a_number() {
        let range = format!("−0.40 (−0.51{0}to{0}−0.25)", figures::TIE);
        assert_eq!(wrap(&range, 14), ["−0.40 (−0.51", "to −0.25)"]);
        assert_eq!(wrap(&range, 20), ["−0.40", "(−0.51 to −0.25)"]);
    }
}
