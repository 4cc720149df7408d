//! One problem, and all of them together.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::quantity::Misread;
use crate::told::Place;

/// The longest message or hint that is kept, in characters: a line of the user's may be of any length.
const LONGEST: usize = 500;

/// The most problems that are kept; what lies beyond is only counted.
const MOST_KEPT: usize = 1000;

fn clip(text: impl Into<String>) -> String {
    let text = text.into();
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
        None => text,
    }
}

/// How much a problem matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The work can't go on.
    Error,
    /// The work goes on, and the reader should look.
    Warning,
    /// Worth knowing.
    Note,
}

/// Something to tell the user about one of their files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// How much it matters.
    pub severity: Severity,
    /// Where it is.
    pub place: Place,
    /// A plain sentence without a full stop, first letter small.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
    /// Other places that matter, each with a few words.
    pub related: Vec<(Place, String)>,
    /// Whether the user's line is shown; a list of places (a loop) stands for itself.
    pub shows_line: bool,
}

impl Problem {
    /// A problem of a given weight.
    pub fn new(severity: Severity, place: &Place, message: impl Into<String>) -> Self {
        Self {
            severity,
            place: place.clone(),
            message: clip(message),
            hint: None,
            related: Vec::new(),
            shows_line: true,
        }
    }

    /// An error.
    pub fn error(place: &Place, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, place, message)
    }

    /// A warning.
    pub fn warning(place: &Place, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, place, message)
    }

    /// An error from a value that could not be read.
    pub fn misread(place: &Place, misread: Misread) -> Self {
        Self { hint: misread.hint.map(clip), ..Self::error(place, misread.message) }
    }

    /// What to do about it.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(clip(hint));
        self
    }

    /// The hint, where there is one.
    pub fn maybe_hint(mut self, hint: Option<String>) -> Self {
        self.hint = hint.or(self.hint);
        self
    }

    /// Another place that matters, with a few words.
    pub fn related(mut self, place: &Place, words: impl Into<String>) -> Self {
        self.related.push((place.clone(), clip(words)));
        self
    }

    /// `facility.yaml:41: message`, for lists and tests.
    pub fn to_string_line(&self) -> String {
        format!("{}: {}", self.place, self.message)
    }

    /// Shows the related places as a list in place of the user's line.
    pub fn as_list(mut self) -> Self {
        self.shows_line = false;
        self
    }
}

/// All problems found so far. It is shared by everything that reads, so that one pass finds them all.
#[derive(Debug, Default)]
pub struct Problems {
    held: Mutex<Held>,
}

#[derive(Debug, Default)]
struct Held {
    list: Vec<Problem>,
    /// Asked only whether something is in it; its order shows nowhere.
    seen: HashSet<(Place, String)>,
    errors: usize,
    beyond: usize,
}

impl Problems {
    /// None yet.
    pub fn new() -> Self {
        Self::default()
    }

    fn held(&self) -> MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Keeps a problem, unless the same message stands at the same place already. After the first thousand they are
    /// only counted.
    pub fn add(&self, problem: Problem) {
        let mut held = self.held();
        let is_error = problem.severity == Severity::Error;
        if held.list.len() >= MOST_KEPT {
            held.beyond += 1;
            held.errors += usize::from(is_error);
        } else if held.seen.insert((problem.place.clone(), problem.message.clone())) {
            held.errors += usize::from(is_error);
            held.list.push(problem);
        }
    }

    /// Whether any of them is an error.
    pub fn has_errors(&self) -> bool {
        self.errors() > 0
    }

    /// How many errors there are.
    pub fn errors(&self) -> usize {
        self.held().errors
    }

    /// Whether there are none at all.
    pub fn is_empty(&self) -> bool {
        self.held().list.is_empty()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        let held = self.held();
        held.list.len() + held.beyond
    }

    /// How many were only counted, after the first thousand.
    pub fn beyond(&self) -> usize {
        self.held().beyond
    }

    /// All of them: files in the order in which they were first complained of, then by line and column.
    pub fn in_order(&self) -> Vec<Problem> {
        let held = self.held();
        let mut files: Vec<Arc<str>> = Vec::new();
        for problem in &held.list {
            if !files.contains(&problem.place.file) {
                files.push(Arc::clone(&problem.place.file));
            }
        }
        let rank = |place: &Place| files.iter().position(|file| *file == place.file);
        let mut all = held.list.clone();
        all.sort_by_key(|problem| (rank(&problem.place), problem.place.line, problem.place.column));
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn problems_come_in_file_order_and_each_once() {
        let file: Arc<str> = Arc::from("facility.yaml");
        let problems = Problems::new();
        problems.add(Problem::error(&Place::line(&file, 9), "second"));
        problems.add(Problem::warning(&Place::line(&file, 2), "first"));
        problems.add(Problem::error(&Place::line(&file, 9), "second"));
        let told: Vec<String> = problems.in_order().into_iter().map(|problem| problem.message).collect();
        assert_eq!(told, ["first", "second"]);
        assert_eq!(problems.errors(), 1);
    }
}
