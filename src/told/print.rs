//! Problems on a screen: the user's own line with a caret, a sentence, and what to do; 80 columns.

use std::collections::HashMap;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use crate::told::{Place, Problem, Problems, Severity};

/// Columns a message takes at most.
pub const WIDTH: usize = 80;

/// Where the lines of the user's files can be had.
pub trait Lines {
    /// A line of a file, counted from 1, without its end.
    fn line(&self, file: &str, line: u32) -> Option<String>;
}

/// All problems as text, with a last line that counts them; empty when there are none.
pub fn print(problems: &Problems, lines: &dyn Lines, colour: bool) -> String {
    let mut out = String::new();
    for problem in &problems.in_order() {
        out.push_str(&print_one(problem, lines, colour));
        out.push('\n');
    }
    if problems.beyond() > 0 {
        out.push_str(&format!("and {} more that are not shown\n", problems.beyond()));
    }
    out.push_str(&counted(problems, ""));
    out
}

/// The most problems of different kinds that [`print_short`] shows.
const MOST_SHOWN: usize = 20;

/// Problems as text, those of one kind together, and no more than a screen of them; `others` says how to see the rest.
/// While there are errors nothing else is shown: much of it would be untrue once they are mended. Empty when there are
/// none.
pub fn print_short(problems: &Problems, lines: &dyn Lines, colour: bool, others: &str) -> String {
    let mut all = problems.in_order();
    all.sort_by_key(|problem| problem.severity);
    if problems.has_errors() {
        all.retain(|problem| problem.severity == Severity::Error);
    }
    let mut kinds: Vec<(String, Vec<&Problem>)> = Vec::new();
    let mut at: HashMap<String, usize> = HashMap::new();
    for problem in &all {
        let kind = kind_of(problem);
        let index = *at.entry(kind.clone()).or_insert_with(|| {
            kinds.push((kind, Vec::new()));
            kinds.len() - 1
        });
        if let Some((_, of)) = kinds.get_mut(index) {
            of.push(problem);
        }
    }
    let mut out = String::new();
    let mut shown = 0;
    for (_, of) in kinds.iter().take(MOST_SHOWN) {
        // A few of one kind may each have something of their own to say.
        let one_by_one = if of.len() <= FEW && !is_one_message(of) { of.len() } else { 1 };
        for problem in of.iter().take(one_by_one) {
            out.push_str(&print_one(problem, lines, colour));
        }
        if one_by_one < of.len() {
            out.push_str(&likewise(of.get(one_by_one..).unwrap_or_default()));
        }
        out.push('\n');
        shown += of.len();
    }
    let hidden = all.len() - shown + problems.beyond();
    let more = match (hidden, problems.has_errors() && problems.len() > problems.errors()) {
        (0, false) => String::new(),
        (0, true) => format!("; mend the errors first{others}"),
        (hidden, _) => format!("; {hidden} of them are not shown{others}"),
    };
    out.push_str(&counted(problems, &more));
    out
}

fn is_one_message(of: &[&Problem]) -> bool {
    of.windows(2).all(|pair| matches!(pair, [a, b] if a.message == b.message))
}

/// As many problems of one kind are shown one by one, where each says something else.
const FEW: usize = 3;

/// Problems of one kind weigh the same, stand in one file and are told in the same words; of a table's rows apart from what
/// is quoted of the user's and from figures. In a file of keys each is of its own, since another key has another hint; notes
/// with one hint are of one kind there too.
fn kind_of(problem: &Problem) -> String {
    let kind = format!("{:?} {} ", problem.severity, problem.place.file);
    if [".yaml", ".yml"].iter().any(|end| problem.place.file.ends_with(end)) {
        return match (&problem.hint, problem.severity) {
            (Some(hint), Severity::Note) => format!("{kind}{} {hint}", shape(&problem.message)),
            _ => kind + &problem.message,
        };
    }
    kind + &shape(&problem.message)
}

/// A sentence without its figures and without what is quoted of the user's.
pub fn shape(sentence: &str) -> String {
    let mut quoted = false;
    let mut shape = String::new();
    let mut letters = sentence.chars().peekable();
    let mut in_figure = false;
    while let Some(c) = letters.next() {
        // A decimal mark is part of its figure: `10 ft` and `9.6 ft` differ in a figure alone.
        let marks = in_figure && c == '.' && letters.peek().is_some_and(char::is_ascii_digit);
        in_figure = c.is_ascii_digit() || marks;
        match c {
            _ if marks => {}
            '`' => quoted = !quoted,
            _ if quoted => {}
            '0'..='9' => {}
            c => shape.push(c),
        }
    }
    shape
}

/// Where the others of a kind stand: the first three places, and how many more.
fn likewise(others: &[&Problem]) -> String {
    let places: Vec<String> = others.iter().take(3).map(|problem| problem.place.to_string()).collect();
    let more = match others.len() - places.len() {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!("  {}\n", wrap(&format!("likewise at {}{more}", places.join(", ")), WIDTH - 2, 2))
}

/// How many errors, warnings and notes there are, on a line with what is added to it.
fn counted(problems: &Problems, more: &str) -> String {
    let all = problems.in_order();
    let counted = |number: usize, word: &str| match number {
        0 => None,
        1 => Some(format!("1 {word}")),
        more => Some(format!("{more} {word}s")),
    };
    let of = |severity: Severity| all.iter().filter(|problem| problem.severity == severity).count();
    let told: Vec<String> = [
        counted(problems.errors(), "error"),
        counted(of(Severity::Warning), "warning"),
        counted(of(Severity::Note), "note"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if told.is_empty() { String::new() } else { format!("{}{more}\n", told.join(", ")) }
}

/// One problem as text.
pub fn print_one(problem: &Problem, lines: &dyn Lines, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let renderer = renderer.decor_style(DecorStyle::Ascii).term_width(WIDTH);
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let title = wrap(&clean(&problem.message), WIDTH - "warning: ".len(), 0);
    let line = (problem.shows_line && problem.place.line > 0)
        .then(|| lines.line(&problem.place.file, problem.place.line))
        .flatten();
    let Some(line) = line else {
        let mut group = annotate_snippets::Group::with_title(level.primary_title(title.as_str()));
        if problem.shows_line {
            group = group.element(annotate_snippets::Origin::path(&*problem.place.file));
        }
        return finish(problem, renderer.render(&[group]));
    };
    let (shown, from, to) = window(&line, &problem.place);
    let snippet = Snippet::source(shown.as_str())
        .line_start(problem.place.line as usize)
        .path(&*problem.place.file)
        .annotation(AnnotationKind::Primary.span(from..to));
    let group = level.primary_title(title.as_str()).element(snippet);
    finish(problem, renderer.render(&[group]))
}

fn finish(problem: &Problem, head: String) -> String {
    let mut out = head;
    for (place, words) in &problem.related {
        out.push('\n');
        let lead = format!("  {place}  ");
        out.push_str(&lead);
        out.push_str(&wrap(&clean(words), WIDTH - lead.chars().count().min(40), 4));
    }
    if let Some(hint) = &problem.hint {
        out.push_str("\n  ");
        out.push_str(&wrap(&clean(hint), WIDTH - 2, 2));
    }
    out.push('\n');
    out
}

/// Control characters, and marks that turn the direction of writing, must not reach a terminal.
fn clean(text: &str) -> String {
    text.chars().map(|c| if is_unprintable(c) { '\u{fffd}' } else { c }).collect()
}

/// Whether a sign would steer a terminal, or change how the signs around it are shown.
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2028}' | '\u{2029}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// Columns that a character takes: East Asian wide characters and pictures take two.
fn columns(c: char) -> usize {
    match u32::from(c) {
        0x1100..=0x115f
        | 0x2e80..=0xa4cf
        | 0xac00..=0xd7a3
        | 0xf900..=0xfaff
        | 0xfe30..=0xfe6f
        | 0xff00..=0xff60
        | 0x1f300..=0x1faff
        | 0x20000..=0x3fffd => 2,
        _ => 1,
    }
}

/// Columns of the user's line that fit beside the line number and its marks.
const LINE_WIDTH: usize = 64;

/// The part of a line that shows its place, with the byte span of the place inside it.
fn window(line: &str, place: &Place) -> (String, usize, usize) {
    let letters: Vec<char> = line.chars().map(|c| if is_unprintable(c) { ' ' } else { c }).collect();
    let start = (place.column.max(1) as usize - 1).min(letters.len());
    let end = (start + place.length.max(1) as usize).min(letters.len());
    let width: usize = letters.iter().map(|c| columns(*c)).sum();
    let before: usize = letters.iter().take(end).map(|c| columns(*c)).sum();
    let first = if width <= LINE_WIDTH || before <= LINE_WIDTH { 0 } else { start.saturating_sub(20) };
    let mut text = String::new();
    if first > 0 {
        text.push_str("...");
    }
    let mut span: Option<(usize, usize)> = None;
    let mut used = 0;
    let mut cut = false;
    for (at, c) in letters.iter().enumerate().skip(first) {
        if used + columns(*c) > LINE_WIDTH {
            cut = true;
            break;
        }
        used += columns(*c);
        let from = text.len();
        text.push(*c);
        if (start..end.max(start + 1)).contains(&at) {
            span = Some((span.map_or(from, |(held, _)| held), text.len()));
        }
    }
    let (from, to) = span.unwrap_or((text.len(), text.len()));
    if cut {
        text.push_str("...");
    }
    (text, from, to)
}

/// Breaks a text into lines of at most `width` columns, later lines indented by `indent`.
fn wrap(text: &str, width: usize, indent: usize) -> String {
    let width = width.saturating_sub(indent).max(20);
    let mut out = String::new();
    let mut used = 0;
    let new_line = |out: &mut String, used: &mut usize| {
        out.push('\n');
        out.push_str(&" ".repeat(indent));
        *used = 0;
    };
    for word in text.split(' ') {
        let length: usize = word.chars().map(columns).sum();
        if used > 0 && used + 1 + length > width {
            new_line(&mut out, &mut used);
        } else if used > 0 {
            out.push(' ');
            used += 1;
        }
        for c in word.chars() {
            if used + columns(c) > width {
                new_line(&mut out, &mut used);
            }
            out.push(c);
            used += columns(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    struct One(&'static str);
    impl Lines for One {
        fn line(&self, _: &str, line: u32) -> Option<String> {
            (line == 7).then(|| self.0.to_string())
        }
    }

    fn place(column: u32, length: u32) -> Place {
        Place { file: Arc::from("facility.yaml"), line: 7, column, length }
    }

    #[test]
    fn a_problem_shows_the_line_the_caret_and_what_to_do() {
        let problem = Problem::error(&place(11, 3), "a number without its unit; expected an area")
            .hint("units allowed here: ft2, acre, m2 or ha");
        let text = print_one(&problem, &One("    area: 9.5"), false);
        assert_eq!(
            text,
            "error: a number without its unit; expected an area\n --> facility.yaml:7:11\n  |\n7 |     area: 9.5\n  |           ^^^\n  units allowed here: ft2, acre, m2 or ha\n"
        );
    }

    #[test]
    fn no_line_of_a_message_is_wider_than_the_screen() {
        let long: &'static str = Box::leak(format!("key: {}end", "word ".repeat(60)).into_boxed_str());
        for column in [1, 6, 150, 290, 400] {
            let problem = Problem::error(
                &place(column, 300),
                format!("{}{}", "a sentence that goes on ".repeat(12), "x".repeat(200)),
            )
            .hint("a hint that goes on ".repeat(12))
            .related(&place(1, 1), "another place that goes on ".repeat(6));
            for line in print_one(&problem, &One(long), false).lines() {
                assert!(line.chars().count() <= WIDTH, "{} columns: {line}", line.chars().count());
            }
        }
    }

    #[test]
    fn three_hundred_rows_of_one_kind_are_told_once_and_what_is_worst_first() {
        let problems = Problems::new();
        problems.add(Problem::warning(&place(1, 1), "the column `extra` is not read"));
        for row in 1..=344 {
            let at = Place { line: row + 1, ..Place::file("records/lab.csv") };
            problems.add(Problem::error(&at, format!("`{row},5` is not a number")).hint("write 7.5"));
        }
        let text = print_short(&problems, &One("12,5"), false, "; --all shows the rest");
        assert!(text.starts_with("error: `1,5` is not a number\n"), "{text}");
        assert!(
            text.contains("likewise at records/lab.csv:3, records/lab.csv:4, records/lab.csv:5 and 340\n  more"),
            "{text}"
        );
        let told = "344 errors, 1 warning; mend the errors first; --all shows the rest\n";
        assert!(text.ends_with(told), "{text}");
        assert!(!text.contains("extra") && text.lines().count() < 20, "{text}");

        let problems = Problems::new();
        for kind in 'a'..='v' {
            problems.add(Problem::warning(&place(1, 1), kind.to_string()));
        }
        let text = print_short(&problems, &One("12,5"), false, "; --all shows the rest");
        assert!(text.ends_with("22 warnings; 2 of them are not shown; --all shows the rest\n"), "{text}");
    }

    #[test]
    fn control_characters_of_a_file_do_not_reach_the_terminal() {
        let problem = Problem::error(&place(1, 2), "bad \u{1b}[31m name");
        let text = print_one(&problem, &One("\u{1b}[2Jx\u{7}"), false);
        assert!(!text.contains('\u{1b}') && !text.contains('\u{7}'), "{text:?}");
    }
}
