//! One problem, and all of them together.

use std::cell::RefCell;
use std::sync::Arc;

use super::Place;
use crate::quantity::Misread;

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
            message: message.into(),
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
        Self {
            hint: misread.hint,
            ..Self::error(place, misread.message)
        }
    }

    /// What to do about it.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// The hint, where there is one.
    pub fn maybe_hint(mut self, hint: Option<String>) -> Self {
        self.hint = hint.or(self.hint);
        self
    }

    /// Another place that matters, with a few words.
    pub fn related(mut self, place: &Place, words: impl Into<String>) -> Self {
        self.related.push((place.clone(), words.into()));
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
    held: RefCell<Vec<Problem>>,
}

impl Problems {
    /// None yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Keeps a problem, unless the same message stands at the same place already.
    pub fn add(&self, problem: Problem) {
        let mut held = self.held.borrow_mut();
        if !held
            .iter()
            .any(|other| other.place == problem.place && other.message == problem.message)
        {
            held.push(problem);
        }
    }

    /// Whether any of them is an error.
    pub fn has_errors(&self) -> bool {
        self.held
            .borrow()
            .iter()
            .any(|problem| problem.severity == Severity::Error)
    }

    /// How many errors there are.
    pub fn errors(&self) -> usize {
        self.held
            .borrow()
            .iter()
            .filter(|problem| problem.severity == Severity::Error)
            .count()
    }

    /// Whether there are none at all.
    pub fn is_empty(&self) -> bool {
        self.held.borrow().is_empty()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.held.borrow().len()
    }

    /// All of them: files in the order in which they were first complained of, then by line and column.
    pub fn in_order(&self) -> Vec<Problem> {
        let held = self.held.borrow();
        let mut files: Vec<Arc<str>> = Vec::new();
        for problem in held.iter() {
            if !files.contains(&problem.place.file) {
                files.push(Arc::clone(&problem.place.file));
            }
        }
        let rank = |place: &Place| files.iter().position(|file| *file == place.file);
        let mut all = held.clone();
        all.sort_by_key(|problem| {
            (
                rank(&problem.place),
                problem.place.line,
                problem.place.column,
            )
        });
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
        let told: Vec<String> = problems
            .in_order()
            .into_iter()
            .map(|problem| problem.message)
            .collect();
        assert_eq!(told, ["first", "second"]);
        assert_eq!(problems.errors(), 1);
    }
}
