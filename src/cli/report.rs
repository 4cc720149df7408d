//! `report`: the inspection report as PDF, or its findings as JSON.

use std::path::PathBuf;

use clap::ValueEnum;

use crate::cli::judged;
use crate::cli::load;
use crate::cli::load::SiteArgs;
use crate::cli::{Done, Stop};
use crate::files::write_whole;
use crate::page::document::Document;
#[cfg(feature = "xlsx")]
use crate::page::document::Table;
#[cfg(feature = "xlsx")]
use crate::page::tables;
use crate::page::{pdf, terminal};
use crate::report::inspection;
use crate::report::inspection::json;
use crate::rules::{FindingKind, Outcome};

/// Outcomes that `--fail-on` looks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    /// A limit is exceeded, below its minimum or outside its range
    Exceeded,
    /// That, or a limit is not shown
    NotShown,
}

/// What `report` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(before_help = "Example:\n    bywash report demo-facility -o report.pdf")]
pub struct Args {
    /// The site and the period.
    #[command(flatten)]
    pub site: SiteArgs,
    /// Where the PDF goes [default: report.pdf in the site's folder]
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Print the findings as JSON on stdout (no PDF unless -o is given)
    #[arg(long)]
    pub json: bool,
    /// Write every table of the report into a workbook as well
    #[arg(long, value_name = "FILE.xlsx")]
    pub tables: Option<PathBuf>,
    /// Draws behind predicted outcomes
    #[arg(long, value_name = "N", default_value_t = 200)]
    pub draws: u32,
    /// Exit with 3 when a limit came out so
    #[arg(long, value_enum, value_name = "OUTCOME")]
    pub fail_on: Option<FailOn>,
}

/// Makes the report.
///
/// # Errors
/// When the site can't be read, the ledger does not close, or an output can't be written.
pub fn run(args: &Args) -> Done {
    let site = load::site(&args.site)?;
    load::tell(&site.problems, &site.sources);
    let judged = judged::judge(&site, args.draws)?;
    let case = judged.case(&site);
    if args.json {
        let mut text = serde_json::to_vec_pretty(&json::findings(&case))?;
        text.push(b'\n');
        load::to_stdout(&text)?;
    }
    if !args.json || args.output.is_some() || args.tables.is_some() {
        let document = inspection::inspection(&case);
        if !args.json || args.output.is_some() {
            let path = args.output.clone().unwrap_or_else(|| args.site.dir.join("report.pdf"));
            write_whole(&path, &pdf::render(&document)?)?;
            if !args.json {
                eprint!("{}", terminal::render_blocks(&document, document.first_page()));
            }
            eprintln!("The report is in {}.", path.display());
        }
        if let Some(path) = &args.tables {
            write_whole(path, &workbook(&document)?)?;
            eprintln!("Its tables are in {}.", path.display());
        }
    }
    let found = |wanted: fn(Outcome) -> bool| {
        judged.findings.iter().any(|finding| finding.kind == FindingKind::Limit && wanted(finding.outcome))
    };
    let failed = match args.fail_on {
        None => false,
        Some(FailOn::Exceeded) => found(Outcome::is_exceeded),
        Some(FailOn::NotShown) => found(|outcome| outcome.is_exceeded() || outcome == Outcome::NotShown),
    };
    if failed { Err(Stop::FailOn) } else { Ok(()) }
}

/// Every table of a document, one sheet each.
///
/// # Errors
/// When the workbook can't be made, or this program was built without workbooks.
#[cfg(feature = "xlsx")]
pub fn workbook(document: &Document) -> Result<Vec<u8>, Stop> {
    let all = document.all_tables();
    let named: Vec<(String, &Table)> = all.iter().map(|(name, table)| (name.clone(), table)).collect();
    Ok(tables::workbook(&named)?)
}

/// This program was built without workbooks.
///
/// # Errors
/// Always.
#[cfg(not(feature = "xlsx"))]
pub fn workbook(_document: &Document) -> Result<Vec<u8>, Stop> {
    Err(Stop::Could("this bywash was built without XLSX workbooks".to_owned()))
}
