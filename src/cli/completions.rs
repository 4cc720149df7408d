//! `completions`: prints completions for a shell.

use clap::CommandFactory;
use clap_complete::Shell;

use crate::cli::load;
use crate::cli::{Done, Line};

/// What `completions` is told.
#[derive(Debug, Clone, clap::Args)]
pub struct Args {
    /// The shell
    #[arg(value_enum)]
    pub shell: Shell,
}

/// Prints them on stdout.
pub fn run(args: &Args) -> Done {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Line::command(), "bywash", &mut script);
    load::to_stdout(&script)
}
