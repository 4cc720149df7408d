//! `ledger`: each movement of water and solids, as CSV.

use std::path::PathBuf;

use crate::cli::Done;
use crate::cli::load;
use crate::cli::load::SiteArgs;
use crate::files::{Content, check_targets, write_whole};

/// What `ledger` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(before_help = "Example:\n    bywash ledger demo-facility -o ledger.csv")]
pub struct Args {
    /// The site and the period.
    #[command(flatten)]
    pub site: SiteArgs,
    /// Where the ledger goes (.csv) [default: stdout]
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// Writes the ledger.
///
/// # Errors
/// When the site can't be read or the ledger can't be written.
pub fn run(args: &Args) -> Done {
    let site = load::site(&args.site)?;
    load::tell(&site.problems, &site.sources, args.site.all);
    if let Some(path) = &args.output {
        check_targets(&[(path, Content::Ledger)], &site.sources)?;
    }
    let run = load::run(&site)?;
    let mut bytes = Vec::new();
    run.ledger.write_csv(&mut bytes)?;
    match &args.output {
        Some(path) => {
            write_whole(path, &bytes)?;
            load::to_stderr(&format!("The ledger is in {}.\n", path.display()));
            Ok(())
        }
        None => load::to_stdout(&bytes),
    }
}
