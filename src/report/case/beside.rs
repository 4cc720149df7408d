//! A table of the site as it stands and of how much more or less each option has. What is the same in every option, and
//! what can't be compared in any, is told in a line below and takes no row.

use crate::compare::{Cell as Compared, Paired, difference};
use crate::page::document::{Basis, Cell, Column, Table, figures};
use crate::report::case::page::{LowerFirst, gathered};
use crate::report::case::{ComparedCase, roughly, spread, three};
use crate::report::units::Unit;

/// A share of what there is below which a difference is no difference a reader can use.
const HARDLY: f64 = 0.0005;

/// What prints as nought, in the unit of a row.
const PRINTED: f64 = 0.5;

/// A row before it is printed.
struct Line {
    name: String,
    now: Compared,
    more: Vec<Compared>,
    unit: Unit,
    is_sum: bool,
    is_rough: bool,
}

/// Rows gathered for one table.
pub struct Beside<'a> {
    case: &'a ComparedCase<'a>,
    lines: Vec<Line>,
    /// Rows of words, in front.
    words: Vec<(String, Vec<String>)>,
    /// Differences below this, in the unit of the row, are none.
    least: f64,
    /// Whether the site as it stands is told without its ranges.
    brief: bool,
}

impl<'a> Beside<'a> {
    /// No rows yet. Differences below `least`, in a row's unit, are none.
    pub fn new(case: &'a ComparedCase<'a>, least: f64) -> Self {
        Self { case, lines: Vec::new(), words: Vec::new(), least, brief: false }
    }

    /// The same with the site as it stands told without its ranges, which are those of all options.
    pub fn brief(mut self) -> Self {
        self.brief = true;
        self
    }

    /// The site as it stands in print.
    fn now(&self, line: &Line) -> String {
        let words = spread(&line.now, line.unit);
        match words.split_once(" (") {
            Some((median, _)) if self.brief => median.to_owned(),
            _ => words,
        }
    }

    /// A row in a sentence: `water drawn 3 660 thousand gal`.
    fn told(&self, line: &Line) -> String {
        let name = line.name.to_lowercase_first();
        match name.strip_suffix(line.unit.name).and_then(|name| name.strip_suffix(", ")) {
            Some(name) => format!("{name} {}{}{}", self.now(line), figures::TIE, line.unit.name),
            None => format!("{name} {}", self.now(line)),
        }
    }

    /// Adds a row: the site as it stands, and the difference of each option.
    pub fn line(&mut self, name: impl Into<String>, unit: Unit, now: Compared, more: Vec<Compared>) {
        self.lines.push(Line { name: name.into(), now, more, unit, is_sum: false, is_rough: false });
    }

    /// Tells what the options have more in the row added last with two digits.
    pub fn roughly(&mut self) {
        if let Some(line) = self.lines.last_mut() {
            line.is_rough = true;
        }
    }

    /// Adds a row of words in front, one for each option.
    pub fn words(&mut self, name: impl Into<String>, cells: Vec<String>) {
        self.words.push((name.into(), cells));
    }

    /// Adds a sum.
    pub fn sum(&mut self, name: impl Into<String>, unit: Unit, now: Compared, more: Vec<Compared>) {
        self.lines.push(Line { name: name.into(), now, more, unit, is_sum: true, is_rough: false });
    }

    /// Adds a row whose figures pair by what they are of.
    pub fn paired(&mut self, name: impl Into<String>, unit: Unit, of: impl Fn(usize) -> Vec<Paired>) {
        let study = self.case.study;
        let cell = |ours: &[Paired], theirs: &[Paired]| study.counted(difference(ours, theirs, study.runs()));
        let more = self.case.options().skip(1).map(|option| cell(&of(option), &of(0))).collect();
        self.line(name, unit, cell(&of(0), &[]), more);
    }

    fn is_same(&self, line: &Line, more: &Compared) -> bool {
        let size =
            |cell: &Compared| cell.spread().map(|of| line.unit.of(of.low).abs().max(line.unit.of(of.high).abs()));
        size(more).is_some_and(|more| more <= self.least || size(&line.now).is_some_and(|now| more < HARDLY * now))
    }

    fn is_nothing(&self, line: &Line, more: &Compared) -> bool {
        more.spread()
            .is_some_and(|of| line.unit.of(of.low).abs().max(line.unit.of(of.high).abs()) <= self.least.min(PRINTED))
    }

    /// The table, its notes those of what has no row; none where no row is left, with the notes by themselves.
    pub fn table(self, head: &str, caption: impl Into<String>) -> (Option<Table>, Vec<String>) {
        let case = self.case;
        let mut columns = vec![Column::words(head), Column::words("As it stands")];
        columns.extend(case.options().skip(1).map(|option| Column::words(case.short(option))));
        let mut table = Table::new(columns).caption(caption).wide();
        let (mut same, mut missing, mut reasons) = (Vec::new(), Vec::new(), Vec::new());
        for (name, cells) in &self.words {
            table.row([vec![Cell::words(name.clone())], cells.iter().map(Cell::words).collect()].concat());
        }
        for line in &self.lines {
            let nothing = line.now.spread().is_some_and(|of| of.low == 0.0 && of.high == 0.0);
            if !line.now.is_whole() && line.more.iter().all(|more| !more.is_whole() || self.is_same(line, more)) {
                missing.push(line.name.to_lowercase_first());
                for why in line.now.missing.iter().chain(line.more.iter().flat_map(|more| &more.missing)) {
                    if !reasons.contains(why) {
                        reasons.push(why.clone());
                    }
                }
                continue;
            }
            if line.more.iter().all(|more| self.is_same(line, more)) && !line.is_sum {
                if !nothing {
                    same.push(self.told(line));
                }
                continue;
            }
            let mut cells = vec![Cell::words(line.name.clone()), Cell::known(self.now(line), Basis::Computed)];
            // In a row that is printed, what prints as a figure for one option does for another.
            cells.extend(line.more.iter().map(|more| {
                if self.is_nothing(line, more) {
                    // Of what the site has none of, nothing more is none.
                    Cell::words(if nothing { "0" } else { "the same" })
                } else {
                    Cell::known(signed(more, line.unit, line.is_rough), Basis::Computed)
                }
            }));
            if line.is_sum {
                table.sum(cells);
            } else {
                table.row(cells);
            }
        }
        let mut notes = vec!["Options: more (+) or less (−) than as it stands.".to_owned()];
        if !same.is_empty() {
            notes.push(format!("The same in all of them: {}.", same.join("; ")));
        }
        if !missing.is_empty() {
            notes.push(format!("Not compared: {} ({}).", missing.join("; "), gathered(&reasons)));
        }
        if table.rows.len() == self.words.len() {
            notes.remove(0);
            return (None, notes);
        }
        (Some(table), notes)
    }
}

/// `+5 160 (3 560 to 6 720)`, `−390 (−520 to −260)`: with its sign, whichever way it goes.
fn signed(cell: &Compared, unit: Unit, is_rough: bool) -> String {
    let words = if is_rough { roughly(cell, unit) } else { spread(cell, unit) };
    let is_more = cell.spread().is_some_and(|of| three(unit.of(of.median)) > 0.0);
    if is_more && !words.starts_with(figures::MINUS) { format!("+{words}") } else { words }
}
