//! The questions of `new`, each in plain words; what is answered is read as a line of an answers file.

use std::io::{Write as _, stderr};

use super::answers::Answers;
use crate::files::Source;
use crate::told::Problems;

/// A question: its key in the answers file, its words, and what Enter takes.
pub(super) struct Question {
    pub key: &'static str,
    pub words: &'static str,
    pub enter: &'static str,
    form: Form,
}

/// How an answer stands in the file.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    Plain,
    List,
    /// Names with a kind; a kind alone names itself.
    Pairs,
}

const fn question(key: &'static str, words: &'static str, enter: &'static str, form: Form) -> Question {
    Question { key, words, enter, form }
}

/// The questions, in order.
pub(super) const QUESTIONS: [Question; 12] = [
    question("name", "What is the site called?", "Name of your nursery", Form::Plain),
    question("units", "US units or metric units?", "US units", Form::Plain),
    question("yard", "How much ground does rain run off from (5 acre, 2 ha)?", "none", Form::Plain),
    question("roofs", "How much roof, if its rain is caught?", "none", Form::Plain),
    question("supplies", "Where does water come from, in the order it is used?", "Well", Form::List),
    question(
        "uses",
        "What is it used for? NAME: KIND, of overhead, flood floor, bench, drip, mist, washdown",
        "Overhead yard: overhead",
        Form::Pairs,
    ),
    question(
        "filters",
        "Filters, in the order in which water runs through them? NAME: KIND, of gravity screen, vibrating screen, microscreen \
         drum, pressure screen, moving media, bag, shallow media bed, deep media bed, cartridge, membrane",
        "none",
        Form::Pairs,
    ),
    question("tanks", "Tanks and sumps?", "none", Form::List),
    question("ponds", "Ponds, the one that fills first at the front?", "none", Form::List),
    question("outfalls", "Where does water leave to a stream or ditch?", "none", Form::List),
    question("sewer", "Is there a sewer? Its name", "none", Form::Plain),
    question("meters", "Meters? NAME: what it counts the water of (M1 well: Well)", "none", Form::Pairs),
];

/// The line of the answers file that an answer makes; none where there is nothing of the kind.
fn line(question: &Question, answer: &str) -> Option<String> {
    let answer = answer.trim();
    let lower = answer.to_lowercase().replace('\u{2019}', "'");
    if matches!(lower.as_str(), "none" | "no" | "nothing" | "0" | "") {
        return None;
    }
    if matches!(lower.as_str(), "don't know" | "dont know" | "not known" | "?") {
        let is_area = matches!(question.key, "yard" | "roofs");
        return is_area.then(|| format!("{}: not known\n", question.key));
    }
    Some(match question.form {
        Form::Plain => format!("{}: {answer}\n", question.key),
        Form::List => format!("{}: [{answer}]\n", question.key),
        Form::Pairs => {
            let pairs: Vec<String> = answer
                .split(',')
                .map(|pair| match pair.trim() {
                    both if both.contains(':') => both.to_owned(),
                    kind => format!("{}: {kind}", capital(kind)),
                })
                .collect();
            format!("{}: {{{}}}\n", question.key, pairs.join(", "))
        }
    })
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Asks every question; `reply` gives an answer, or none when the user stops. What can't be read is told and asked again.
pub(super) fn ask(reply: &mut dyn FnMut(&Question) -> Option<String>) -> Option<Answers> {
    let mut text = String::new();
    for question in &QUESTIONS {
        while let Some(line) = line(question, &reply(question)?) {
            let problems = Problems::new();
            let whole = format!("{text}{line}");
            if Answers::read_some(&Source::new("answers", &whole), &problems).is_some() {
                text = whole;
                break;
            }
            for problem in problems.in_order() {
                let hint = problem.hint.map(|hint| format!(" ({hint})")).unwrap_or_default();
                // Nobody to tell is no reason to stop.
                let _ = writeln!(stderr(), "  {}{hint}", problem.message);
            }
        }
    }
    let problems = Problems::new();
    let answers = Answers::read(&Source::new("answers", if text.is_empty() { "{}\n" } else { &text }), &problems);
    for problem in problems.in_order() {
        let _ = writeln!(stderr(), "  {}", problem.message);
    }
    answers
}

/// Asks on the terminal.
pub(super) fn on_terminal(question: &Question) -> Option<String> {
    dialoguer::Input::<String>::new()
        .with_prompt(question.words)
        .default(question.enter.to_owned())
        .interact_text()
        .ok()
}
