//! The command line: one file per command.

pub mod asked;
pub mod check;
pub mod compare;
pub mod completions;
pub mod explain;
pub mod judged;
pub mod ledger;
pub mod load;
pub mod log_sheet;
pub mod new;
pub mod page;
mod progress;
pub mod publish;
pub mod report;
pub mod schema;
pub mod sheet;
pub mod size;
mod trains;
pub mod unmet;
mod unread;
pub mod verify;
mod watch;
pub mod worklist;

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches as _, Parser, Subcommand};

/// How a command ended, when it did not do what was asked.
#[derive(Debug)]
pub enum Stop {
    /// It could not: what was wrong has been printed, or stands here.
    Could(String),
    /// It did, and found what `--fail-on` or `verify` looks for.
    FailOn,
}

impl<E: std::error::Error> From<E> for Stop {
    fn from(error: E) -> Self {
        let mut words = error.to_string();
        let mut source = error.source();
        while let Some(cause) = source {
            words.push_str(": ");
            words.push_str(&cause.to_string());
            source = cause.source();
        }
        Self::Could(words)
    }
}

/// What a command gives back.
pub type Done = Result<(), Stop>;

/// The water account of a nursery or greenhouse, held against its permit's limits.
#[derive(Debug, Parser)]
#[command(
    name = "bywash",
    version,
    before_help = "Example:\n    bywash report demo-facility -o report.pdf\nA folder alone (`bywash demo-facility`) makes its report.",
    after_help = "Exit status: 0 done; 1 could not; 2 the command line was wrong; 3 --fail-on found what it looked for, or verify a difference.",
    max_term_width = 80
)]
struct Line {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write starter files for a new site
    New(new::Args),
    /// Read everything, tell every problem, read places and limits back as sentences
    Check(check::Args),
    /// Read a clipboard sheet (CSV or XLSX) as it is, and remember how
    Sheet(sheet::Args),
    /// Make a blank month sheet to print and hang on a clipboard
    LogSheet(log_sheet::Args),
    /// Make the inspection report (PDF), or its findings as JSON
    Report(report::Args),
    /// Make one HTML file of the report, with the site's picture by the day
    Page(page::Args),
    /// Find the least pond that meets its duties
    Size(size::Args),
    /// Compare the site as it stands with proposals (PDF)
    Compare(compare::Args),
    /// Show how one limit came out, or where a place's water came from and went
    Explain(explain::Args),
    /// Write the ledger: each movement of water and solids, each day
    #[command(alias = "balance")]
    Ledger(ledger::Args),
    /// Tell whether a report, case, basin or ledger is what this program makes of a site's files
    Verify(verify::Args),
    /// Print the JSON Schema of a file, for editors
    Schema(schema::Args),
    /// Print completions for a shell
    Completions(completions::Args),
}

/// A folder in place of a command asks for its report.
fn with_command(mut words: Vec<OsString>) -> Vec<OsString> {
    let is_folder = words.get(1).is_some_and(|first| {
        let commands = Line::command();
        let is_command = first.to_str().is_some_and(|first| commands.find_subcommand(first).is_some());
        !is_command && Path::new(first).is_dir()
    });
    if is_folder {
        words.insert(1, "report".into());
    }
    words
}

/// The command line as read; a command that makes documents is told what was asked of it.
fn parsed(words: Vec<OsString>) -> Result<Line, clap::Error> {
    let mut commands = Line::command();
    let matches = commands.try_get_matches_from_mut(with_command(words))?;
    let mut line = Line::from_arg_matches(&matches)?;
    let told = match &mut line.command {
        Command::Report(args) => &mut args.outputs.asked,
        Command::Compare(args) => &mut args.outputs.asked,
        Command::Size(args) => &mut args.outputs.asked,
        Command::Page(args) => &mut args.asked,
        _ => return Ok(line),
    };
    if let Some((name, of)) = matches.subcommand()
        && let Some(command) = commands.find_subcommand(name)
    {
        *told = asked::asked(command, of);
    }
    Ok(line)
}

/// Reads the command line, runs the command it names and says how it ended.
pub fn run() -> ExitCode {
    let line = match parsed(std::env::args_os().collect()) {
        Ok(line) => line,
        Err(error) => {
            // Help and version are asked for and end well; everything else is a wrong command line.
            let status = if error.use_stderr() { 2 } else { 0 };
            let _ = error.print();
            return ExitCode::from(status);
        }
    };
    let done = match line.command {
        Command::New(args) => return new::run(&args),
        Command::Sheet(args) => return sheet::run(&args),
        Command::LogSheet(args) => return log_sheet::run(&args),
        Command::Check(args) => check::run(&args),
        Command::Report(args) => report::run(&args),
        Command::Page(args) => page::run(&args),
        Command::Size(args) => size::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::Ledger(args) => ledger::run(&args),
        Command::Verify(args) => verify::run(&args),
        Command::Schema(args) => schema::run(&args),
        Command::Completions(args) => completions::run(&args),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(Stop::FailOn) => ExitCode::from(3),
        Err(Stop::Could(words)) => {
            if !words.is_empty() {
                load::to_stderr(&format!("bywash: {words}\n"));
            }
            ExitCode::from(1)
        }
    }
}
