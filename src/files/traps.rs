//! Where YAML would quietly read something else than what the user sees.

use serde_yaml::Location;

use super::Source;
use super::yaml::{Entry, Node, What, bytes_of};
use crate::told::{Place, Problem, Problems};

fn line_of(source: &Source, at: usize) -> (usize, &str) {
    let start = source.text.get(..at).and_then(|head| head.rfind('\n')).map_or(0, |found| found + 1);
    let rest = source.text.get(start..).unwrap_or_default();
    (start, rest.split('\n').next().unwrap_or_default())
}

/// `Pond #1` reaches us as `Pond`; `&x`, `!x` before a value are swallowed. Gives the text that was meant, where the
/// reader lost a part of it.
pub(super) fn after_scalar(source: &Source, from: usize, to: usize, problems: &Problems) -> Option<String> {
    let lost = before_node(source, from, problems);
    let text = source.text.get(from..to).unwrap_or_default();
    if text.is_empty() {
        return lost;
    }
    if text.starts_with(['"', '\'', '|', '>']) {
        return None;
    }
    let end = from + text.trim_end().len();
    let rest = source.text.get(end..).unwrap_or_default();
    let line = rest.split('\n').next().unwrap_or_default();
    let trimmed = line.trim_start();
    let mut after = trimmed.chars();
    if trimmed.len() == line.len() || after.next() != Some('#') || !after.next().is_some_and(char::is_alphanumeric) {
        return None;
    }
    let at = end + (line.len() - trimmed.len());
    let word = trimmed.split_whitespace().next().unwrap_or_default();
    let whole = format!("{} {word}", text.trim_end());
    problems.add(
        Problem::error(&source.place(at, at + word.len()), format!("what follows `{}` is taken as a remark", text.trim_end())).hint(format!(
            "if `{word}` belongs to the value, put it all in quotes: \"{whole}\"; if it is a remark, write a space after the #"
        )),
    );
    Some(whole)
}

/// `a: >5` is the head of a text block to YAML, and the value is lost.
pub(super) fn block_heads(source: &Source, problems: &Problems) {
    for (number, text) in source.text.lines().enumerate() {
        let Some(colon) = text.find(": ").filter(|_| !text.trim_start().starts_with('#')) else {
            continue;
        };
        let value = text.get(colon + 2..).unwrap_or_default();
        let lead = value.len() - value.trim_start().len();
        let value = value.split(" #").next().unwrap_or_default().trim();
        if value.starts_with(['>', '|']) && value.chars().nth(1).is_some_and(|c| c.is_ascii_digit()) {
            let line = u32::try_from(number + 1).unwrap_or(u32::MAX);
            let start = source.line_start(line).unwrap_or(0) + colon + 2 + lead;
            let sign = value.chars().next().unwrap_or_default();
            problems.add(
                Problem::error(&source.place(start, start + value.len()), format!("a value that begins with `{sign}`"))
                    .hint(format!("put it in quotes: \"{value}\"")),
            );
        }
    }
}

/// An anchor or a tag before a value is swallowed without a word.
pub(super) fn before_node(source: &Source, from: usize, problems: &Problems) -> Option<String> {
    let (start, _) = line_of(source, from);
    let head = source.text.get(start..from).unwrap_or_default().trim_end();
    let word_at = head.rfind([' ', '\t', '[', '{', ',']).map_or(0, |at| at + 1);
    let word = head.get(word_at..).unwrap_or_default();
    if word.starts_with(['&', '!']) && word.len() > 1 {
        let at = start + word_at;
        problems.add(
            Problem::error(
                &source.place(at, at + word.len()),
                format!("`{word}` has a meaning of its own in YAML and would be lost"),
            )
            .hint("put the whole value in quotes"),
        );
        return Some(word.to_string());
    }
    None
}

fn three_digits_first(text: &str) -> bool {
    let figures = text.chars().take_while(char::is_ascii_digit).count();
    figures == 3
}

fn digits_last(node: &Node) -> Option<&str> {
    match &node.what {
        What::Text(text) if text.ends_with(|c: char| c.is_ascii_digit()) => Some(text),
        _ => None,
    }
}

/// `{at most: 16,000 gal}` is two keys, `at most: 16` and `000 gal`. Gives whether it was one; the number is put
/// together again, so that the slip is told once.
pub(super) fn comma_in_map(
    key: &str,
    key_place: &Place,
    value: &Node,
    before: Option<&mut Entry>,
    problems: &Problems,
) -> bool {
    let Some(entry) = before else { return false };
    let Some(number) = digits_last(&entry.value) else {
        return false;
    };
    if value.what != What::Nothing || !three_digits_first(key) {
        return false;
    }
    let joined = format!("{number}{key}");
    problems.add(
        Problem::error(key_place, "a comma inside { } ends the value")
            .hint(format!("write {joined}, without the comma")),
    );
    entry.value.what = What::Text(joined);
    true
}

/// `[16,000 gal]` is two items.
pub(super) fn comma_in_list(source: &Source, items: Vec<Node>, problems: &Problems) -> Vec<Node> {
    let mut list: Vec<Node> = Vec::with_capacity(items.len());
    for item in items {
        if let Some(first) = list.last_mut()
            && let (Some(number), What::Text(text)) = (digits_last(first), &item.what)
            && three_digits_first(text)
            && first.place.line == item.place.line
            && first.place.column + first.place.length + 1 == item.place.column
            && source.line(item.place.line).is_some_and(|line| line.contains(&format!("{number},{text}")))
        {
            let joined = format!("{number}{text}");
            problems.add(
                Problem::error(&item.place, "a comma inside [ ] ends the value")
                    .hint(format!("write {joined} without the comma, or a space after it if these are two values")),
            );
            first.what = What::Text(joined);
            continue;
        }
        list.push(item);
    }
    list
}

/// A file that is not YAML at all: the reader's own error, said in the user's terms.
pub(super) fn syntax(source: &Source, wrong: &serde_yaml::Error) -> Problem {
    let location = wrong.location().unwrap_or(Location::UNKNOWN);
    let told = wrong.without_snippet().to_string();
    if location.line() == 0 && source.text.trim().is_empty() {
        return Problem::error(&Place::file(&source.name), "this file is empty").hint("`new` writes a starter file");
    }
    let (from, _) = bytes_of(&location, source);
    let from = from.min(source.text.len());
    let lower = told.to_lowercase();
    if lower.contains("depth") || lower.contains("budget") || lower.contains("recursion") || lower.contains("nesting") {
        return Problem::error(
            &place_of(source, &location, from),
            "this file is nested deeper, or holds more, than any real one",
        )
        .hint("look for brackets that are never closed");
    }
    if lower.contains("multiple yaml documents") {
        return Problem::error(&place_of(source, &location, from), "a line of dashes starts a second document")
            .hint("take the `---` line before this one out");
    }
    // The reader often notices a slip on the line after it: look at that line and the one before.
    let line_no = u32::try_from(location.line()).unwrap_or(u32::MAX).max(1);
    for line in [line_no, line_no.saturating_sub(1)] {
        if let Some(problem) = source.line(line).and_then(|text| slip_in(source, line, text)) {
            return problem;
        }
    }
    if let Some(problem) = source
        .line(line_no.saturating_add(1))
        .filter(|next| next.starts_with('\t'))
        .and_then(|text| slip_in(source, line_no.saturating_add(1), text))
    {
        return problem;
    }
    if let Some(at) = unclosed(source, from) {
        if let Some(problem) = remark_in_brackets(source, at) {
            return problem;
        }
        let bracket = source.text.get(at..at + 1).unwrap_or_default();
        let close = if bracket == "{" { "}" } else { "]" };
        return Problem::error(&source.place(at, at + 1), format!("this `{bracket}` is not closed"))
            .hint(format!("write the `{close}` that belongs to it; or put the value in quotes"));
    }
    if let Some(problem) = out_of_step(source) {
        return problem;
    }
    if lower.contains("mapping values") {
        for line in [line_no, line_no.saturating_sub(1)] {
            if let Some(problem) = source.line(line).and_then(|text| colon_in(source, line, text)) {
                return problem;
            }
        }
    }
    let line = source.line(line_no).unwrap_or_default();
    if let Some(at) = line.find(" #").filter(|_| lower.contains("comment")) {
        let start = source.line_start(line_no).unwrap_or(0);
        return Problem::error(&source.place(start + at + 1, start + at + 2), "a `#` behind a space begins a remark")
            .hint("if it belongs to the name, put the name in quotes");
    }
    if lower.contains("expected key") || lower.contains("indent") {
        let indent = line.len() - line.trim_start().len();
        let start = source.line_start(line_no).unwrap_or(0);
        return Problem::error(
            &source.place(start + indent, start + line.trim_end().len().max(indent + 1)),
            "this line is not in step with the lines around it",
        )
        .hint("lines that belong together begin under one another; each step in is two spaces");
    }
    let short = told.split(" at line").next().unwrap_or_default().lines().next().unwrap_or_default().trim().to_string();
    Problem::error(&place_of(source, &location, from), "this line can't be read")
        .hint(format!("check its spaces, brackets and quotes; a text with special marks goes in quotes ({short})"))
}

/// `{from: Pond #1, up to: 8 ft}`: what stands behind the `#` is a remark to YAML, and the closing bracket with it.
fn remark_in_brackets(source: &Source, open: usize) -> Option<Problem> {
    let (start, line) = line_of(source, open);
    let mark = line.get(open - start..)?.find(" #")? + (open - start);
    let (before, rest) = (line.get(..mark)?, line.get(mark + 1..)?);
    let name = rest.split([',', '}', ']']).next().unwrap_or_default().trim();
    if !rest.contains(['}', ']']) || !name.get(1..).is_some_and(|behind| behind.starts_with(char::is_alphanumeric)) {
        return None;
    }
    let value = before.rsplit([':', '{', '[', ',']).next().unwrap_or_default().trim();
    let at = source.place(start + mark + 1, start + mark + 1 + name.len());
    Some(
        Problem::error(&at, format!("what follows `{value}` is taken as a remark, and the closing bracket with it"))
            .hint(format!("put the name in quotes: \"{value} {name}\"")),
    )
}

/// A line that opens or continues a level.
struct Step {
    line: u32,
    indent: usize,
    /// Whether lines further in may follow it.
    takes_more: bool,
}

/// The lines of a file that stand in levels; those inside brackets and in texts over several lines are passed over.
fn steps(source: &Source) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut brackets = 0_i32;
    let mut block: Option<usize> = None;
    for (line, text) in (1_u32..).zip(source.text.lines()) {
        let body = text.trim_start();
        let indent = text.len() - body.len();
        if body.is_empty() || body.starts_with('#') || block.is_some_and(|above| indent > above) {
            continue;
        }
        block = None;
        let bare = body.split(" #").next().unwrap_or_default().trim_end();
        let was_inside = brackets > 0;
        let opens = |c: char| i32::from(matches!(c, '{' | '[')) - i32::from(matches!(c, '}' | ']'));
        brackets += bare.chars().map(opens).sum::<i32>();
        if was_inside {
            continue;
        }
        steps.push(Step { line, indent, takes_more: bare.ends_with(':') || bare.starts_with("- ") || bare == "-" });
        if [": |", ": >", ": >-", ": |-"].iter().any(|end| bare.ends_with(end)) {
            block = Some(indent);
        }
    }
    steps
}

/// The first step that does not fit those before it, and the steps that opened the levels it stands among.
fn misfit(steps: &[Step]) -> Option<(usize, Vec<usize>)> {
    let mut open: Vec<usize> = Vec::new();
    let indent = |at: usize| steps.get(at).map_or(0, |step| step.indent);
    for (at, step) in steps.iter().enumerate() {
        let before = open.clone();
        while open.last().is_some_and(|last| indent(*last) > step.indent) {
            open.pop();
        }
        let is_back = open.len() < before.len();
        let level = open.last().copied();
        let fits = match level {
            None => at == 0,
            Some(level) if indent(level) == step.indent => true,
            Some(_) => !is_back && at > 0 && steps.get(at - 1).is_some_and(|above| above.takes_more),
        };
        if !fits {
            return Some((at, before));
        }
        if level.is_none_or(|level| indent(level) != step.indent) {
            open.push(at);
        }
    }
    None
}

/// How well a moved line fits: how far the file then reads, whether it is moved to a whole step, whether it stood between
/// two, whether it is moved by one space.
type Fits = (usize, bool, bool, bool);

/// The line that stands wrong: of the first that does not fit and of those that opened the levels around it, the one that
/// lets the file be read furthest when it is moved a space or two, best to a whole step of two.
fn out_of_step(source: &Source) -> Option<Problem> {
    let mut steps = steps(source);
    let (first, open) = misfit(&steps)?;
    let mut best: Option<(Fits, usize, usize)> = None;
    for at in std::iter::once(first).chain(open.into_iter().rev()) {
        let own = steps.get(at).map_or(0, |step| step.indent);
        for moved in [own.checked_sub(1), Some(own + 1), own.checked_sub(2), Some(own + 2)].into_iter().flatten() {
            if let Some(step) = steps.get_mut(at) {
                step.indent = moved;
            }
            let reads = misfit(&steps).map_or(usize::MAX, |(at, _)| at);
            let score = (reads, moved.is_multiple_of(2), !own.is_multiple_of(2), own.abs_diff(moved) == 1);
            if reads > first && best.is_none_or(|(held, ..)| score > held) {
                best = Some((score, at, moved));
            }
            if let Some(step) = steps.get_mut(at) {
                step.indent = own;
            }
        }
    }
    let (at, meant) = best.map_or((first, None), |(_, at, moved)| (at, Some(moved)));
    steps.get(at).map(|step| misplaced(source, step.line, meant))
}

/// `Pond #1:` is `Pond` to YAML, without the colon that made it a heading.
fn heading_cut_off(source: &Source, line: u32) -> Option<Problem> {
    let text = source.line(line)?;
    let indent = text.len() - text.trim_start().len();
    let start = source.line_start(line)?;
    let mark = text.find(" #")?;
    let (name, rest) = (text.get(indent..mark)?, text.get(mark + 2..)?);
    let colon = rest.find(':').filter(|_| !name.contains(':') && rest.starts_with(char::is_alphanumeric))?;
    let whole = text.get(indent..mark + 2 + colon)?;
    let problem = Problem::error(
        &source.place(start + mark + 1, start + mark + 2),
        format!("what follows `{name}` is taken as a remark, and the colon with it"),
    );
    Some(problem.hint(format!("put the name in quotes: \"{whole}\":")))
}

fn misplaced(source: &Source, line: u32, meant: Option<usize>) -> Problem {
    let text = source.line(line).unwrap_or_default();
    let indent = text.len() - text.trim_start().len();
    let start = source.line_start(line).unwrap_or(0);
    // It may stand on the line before, since what stood under that name fits nothing any more.
    let before = (1..line).rev().find(|at| source.line(*at).is_some_and(|text| !text.trim().is_empty()));
    for at in std::iter::once(line).chain(before) {
        if let Some(problem) = heading_cut_off(source, at) {
            return problem;
        }
    }
    let spaces = |count: usize| if count == 1 { "1 space".to_owned() } else { format!("{count} spaces") };
    Problem::error(
        &source.place(start + indent, start + text.trim_end().len().max(indent + 1)),
        format!("this line begins behind {}, and the lines around it do not fit that", spaces(indent)),
    )
    .hint(match meant {
        Some(meant) => format!("begin it behind {}, under the lines that it belongs to", spaces(meant)),
        None => "lines that belong together begin under one another; each step in is two spaces".to_owned(),
    })
}

/// A second colon in a line, or one without the space behind it.
fn colon_in(source: &Source, line: u32, text: &str) -> Option<Problem> {
    let start = source.line_start(line)?;
    let body = text.split(" #").next().unwrap_or_default();
    match body.find(": ") {
        Some(colon) => {
            let value = body.get(colon + 2..).unwrap_or_default();
            if value.trim_start().starts_with(['"', '\'', '{', '[']) {
                return None;
            }
            let second = colon + 2 + value.find(": ").or_else(|| value.trim_end().strip_suffix(':').map(str::len))?;
            let at = source.place(start + second, start + second + 1);
            Some(
                Problem::error(&at, "a second `:` in one line").hint(
                    "put the value in quotes, or begin the inner part on a line of its own, two spaces further in",
                ),
            )
        }
        None => {
            let colon = body.find(':').filter(|at| at + 1 < body.trim_end().len())?;
            let at = source.place(start + colon, start + colon + 1);
            Some(Problem::error(&at, "the space after the `:` is missing").hint("write it like `area: 9.5 acre`"))
        }
    }
}

fn place_of(source: &Source, location: &Location, from: usize) -> Place {
    if location.line() == 0 {
        return Place::file(&source.name);
    }
    source.place(from, from + 1)
}

/// The slip of a line that YAML reads as something else.
fn slip_in(source: &Source, line: u32, text: &str) -> Option<Problem> {
    let start = source.line_start(line)?;
    let at = |from: usize, length: usize| source.place(start + from, start + from + length);
    let indent = text.len() - text.trim_start().len();
    if let Some(tab) = text.get(..indent).and_then(|head| head.find('\t')) {
        return Some(
            Problem::error(&at(tab, 1), "a tab at the start of a line").hint("use spaces: two for each step in"),
        );
    }
    let body = text.trim_start();
    if body.starts_with('#') {
        return None;
    }
    if let Some(colon) = text.find(": ") {
        let value = text.get(colon + 2..).unwrap_or_default();
        let lead = value.len() - value.trim_start().len();
        let value = value.trim_start();
        let from = colon + 2 + lead;
        if value.starts_with(['>', '%', '@', '*', '&', '!', '`', '|'])
            && !matches!(value.trim_end(), ">" | "|" | ">-" | "|-" | ">+" | "|+")
        {
            let sign = value.chars().next().unwrap_or_default();
            return Some(
                Problem::error(&at(from, value.trim_end().len()), format!("a value that begins with `{sign}`"))
                    .hint(format!("put it in quotes: \"{}\"", value.split(" #").next().unwrap_or_default().trim_end())),
            );
        }
        if value.split(" #").next().is_some_and(|said| said.trim() == "?") {
            return Some(
                Problem::error(&at(from, 1), "a question mark is no value")
                    .hint("write: not known (in a permit's rules: not said), or take the line out"),
            );
        }
        let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''));
        if let Some(quote) = quote
            && !value.get(1..).unwrap_or_default().contains(quote)
        {
            return Some(
                Problem::error(&at(from, 1), "this quote is not closed")
                    .hint(format!("write a second {quote} at its end")),
            );
        }
    }
    if text.contains('\t') {
        let tab = text.find('\t')?;
        return Some(Problem::error(&at(tab, 1), "a tab in a line").hint("use spaces"));
    }
    None
}

/// Where the innermost bracket was opened that is still open at `until`; quotes and remarks are passed over.
fn unclosed(source: &Source, until: usize) -> Option<usize> {
    let mut open: Vec<usize> = Vec::new();
    let mut quote = None;
    let mut before = ' ';
    let mut remark = false;
    for (at, c) in source.text.char_indices().take_while(|(at, _)| *at <= until) {
        if c == '\n' {
            remark = false;
        } else if remark {
        } else if let Some(mark) = quote {
            if c == mark {
                quote = None;
            }
        } else {
            match c {
                '"' | '\'' if matches!(before, ' ' | '{' | '[' | ',' | '\n') => quote = Some(c),
                '#' if before.is_whitespace() => remark = true,
                '{' | '[' => open.push(at),
                '}' | ']' => {
                    open.pop();
                }
                _ => {}
            }
        }
        before = c;
    }
    open.last().copied()
}
