//! `report`: the inspection report as PDF, or its findings as JSON.

use clap::ValueEnum;

use crate::cli::judged;
use crate::cli::load;
use crate::cli::load::SiteArgs;
use crate::cli::progress::Stages;
use crate::cli::publish::OutputArgs;
use crate::cli::{Done, Stop};
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
    /// Where the outputs go.
    #[command(flatten)]
    pub outputs: OutputArgs,
    /// Draws behind predicted outcomes
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = load::draws())]
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
    let stages = Stages::new("reading the site");
    let site = load::site(&args.site)?;
    stages.aside(|| load::tell(&site.problems, &site.sources, args.site.all));
    let targets = args.outputs.targets(args.site.dir.join("report.pdf")).checked(&site.sources)?;
    stages.now("reckoning the days and the limits");
    let (judged, against) = judged::judge_and_against(&site, args.draws)?;
    let case = judged.case(&site, &against);
    let annex = || targets.take_an_annex().then(|| inspection::annex(&case));
    let (report, annex) = rayon::join(|| inspection::inspection(&case), annex);
    drop(stages);
    let annex = || annex.unwrap_or_else(|| inspection::annex(&case));
    targets.write("The report", &report, annex, || json::findings(&case))?;
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
