//! `new`: writes the files of a new site, from answers in its user's own names or as a commented starter.

mod answers;
mod ask;
mod facility;
mod papers;
#[cfg(test)]
mod tests;

use std::io::IsTerminal;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args as ClapArgs, ValueEnum};

pub use self::answers::schema;

use self::answers::Answers;
use crate::cli::load;
use crate::cli::schema::Of;
use crate::files::{Source, Sources, make_new_folder};
use crate::told::Problems;

/// What `new` is told.
#[derive(Debug, Clone, ClapArgs)]
#[command(
    about = "Write the files of a new site into a new folder",
    before_help = "Example:  bywash new my-nursery\n\
                   It asks a dozen questions, writes what the site has in your own names, and checks it.",
    after_help = "Nothing is overwritten: the folder must not exist yet, or be empty. Without a terminal, or with --yes, the \
                  commented starter is written."
)]
pub struct Args {
    /// The folder to make
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Answers given before, as a file
    #[arg(long, value_name = "ANSWERS.yaml", conflicts_with = "yes")]
    pub from: Option<PathBuf>,
    /// Ask nothing: the commented starter with every kind of place
    #[arg(long)]
    pub yes: bool,
}

/// The starter files: name in the new folder, and content.
pub const STARTERS: &[(&str, &str)] = &[
    ("README.md", include_str!("../../templates/README.md")),
    ("facility.yaml", include_str!("../../templates/facility.yaml")),
    ("filters-to-copy.yaml", include_str!("../../templates/filters-to-copy.yaml")),
    ("rules.yaml", include_str!("../../templates/rules.yaml")),
    ("basin.yaml", include_str!("../../templates/basin.yaml")),
    ("prices.yaml", include_str!("../../templates/prices.yaml")),
    ("stages.yaml", include_str!("../../templates/stages.yaml")),
    ("proposals/tuned.yaml", include_str!("../../templates/proposals/tuned.yaml")),
    ("proposals/bags.yaml", include_str!("../../templates/proposals/bags.yaml")),
    ("empty-rules.yaml", include_str!("../../rules/empty-rules.yaml")),
    ("answers.yaml", include_str!("../../templates/answers.yaml")),
    ("letterhead.yaml", include_str!("../../templates/letterhead.yaml")),
    ("rain.csv", include_str!("../../templates/rain.csv")),
    ("records/meters.csv", include_str!("../../templates/records/meters.csv")),
    ("records/washes.csv", include_str!("../../templates/records/washes.csv")),
    ("records/lab.csv", include_str!("../../templates/records/lab.csv")),
    ("records/ponds.csv", include_str!("../../templates/records/ponds.csv")),
    ("records/looks.csv", include_str!("../../templates/records/looks.csv")),
    ("records/letters.csv", include_str!("../../templates/records/letters.csv")),
];

/// The folder of the schemas, which the starter files name in their first lines.
const SCHEMAS: &str = ".schema";

/// The schemas: name in the new folder, and content.
fn schemas() -> Files {
    Of::value_variants().iter().map(|file| (format!("{SCHEMAS}/{}.json", file.name()), file.printed())).collect()
}

/// Makes the folder, says on standard error what stands in it, and gives 0, or 1 when it could not.
pub fn run(args: &Args) -> ExitCode {
    let terminal = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    let answers = match &args.from {
        Some(file) => match given(file) {
            Some(answers) => Some(answers),
            None => return ExitCode::from(1),
        },
        None if args.yes || !terminal => None,
        None => {
            load::to_stderr(
                "Enter takes what stands in brackets; names are parted by commas; `none` and `don't know` are answers.\n",
            );
            match ask::ask(&mut ask::on_terminal) {
                Some(answers) => Some(answers),
                None => {
                    load::to_stderr("Nothing was written.\n");
                    return ExitCode::from(1);
                }
            }
        }
    };
    let (files, begin) = match &answers {
        Some(answers) => (of_answers(answers), "It is checked and can be read:"),
        None => (starter(), "Begin with README.md; change the lines marked `change me`. Then"),
    };
    let schemas = schemas();
    let all = files.iter().chain(&schemas).map(|(name, text)| (name.as_str(), text.as_bytes()));
    match make_new_folder(&args.folder, &all.collect::<Vec<_>>()) {
        Ok(()) => {
            let names: String = files.iter().map(|(name, _)| format!("  {name}\n")).collect();
            let folder = args.folder.display();
            load::to_stderr(&format!(
                "Made {folder}:\n{names}  {SCHEMAS} (for editors that check YAML as you type)\n\
                 {begin}\n  bywash check {folder}     reads everything back and ends with what to do next\n  \
                 bywash report {folder}    draws the site and writes the report\n",
            ));
            ExitCode::SUCCESS
        }
        Err(cause) => {
            load::to_stderr(&format!("error: {cause}.\n"));
            ExitCode::from(1)
        }
    }
}

/// The answers of a file; what is wrong with them is printed.
fn given(file: &std::path::Path) -> Option<Answers> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(std::path::Path::new("."));
    let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let mut sources = Sources::new(folder);
    let problems = Problems::new();
    let source = sources.text(&name, None, &problems);
    let answers = source.and_then(|source| Answers::read(&source, &problems));
    load::tell(&problems, &sources, false);
    answers
}

/// Tells what is wrong with an answers file.
pub fn tell(source: &Source, problems: &Problems) {
    Answers::read(source, problems);
}

type Files = Vec<(String, String)>;

fn starter() -> Files {
    STARTERS.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
}

/// The files of a site that was answered for.
fn of_answers(answers: &Answers) -> Files {
    let site = facility::Site::of(answers);
    let kept = |wanted: &str| {
        let text = STARTERS.iter().find(|(name, _)| *name == wanted).map_or("", |(_, text)| *text);
        (wanted.to_owned(), text.to_owned())
    };
    let mut files = vec![
        kept("README.md"),
        ("answers.yaml".to_owned(), answers.to_yaml()),
        ("facility.yaml".to_owned(), site.yaml()),
        kept("filters-to-copy.yaml"),
        ("rules.yaml".to_owned(), papers::rules(answers)),
        kept("empty-rules.yaml"),
        kept("letterhead.yaml"),
    ];
    if site.has_rain() {
        files.push(kept("rain.csv"));
    }
    files.extend(papers::records(answers, &site));
    files
}
