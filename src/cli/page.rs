//! `page`: the report as one HTML file that opens by a double click.

use std::path::PathBuf;

use crate::cli::load::{self, SiteArgs};
use crate::cli::{Done, Stop, judged};
use crate::files::{Content, check_targets, write_whole};
use crate::page::html;
use crate::report::{inspection, screen};

/// What `page` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(before_help = "Example:\n    bywash page demo-facility --open")]
pub struct Args {
    /// The site and the period.
    #[command(flatten)]
    pub site: SiteArgs,
    /// Where the page goes [default: page.html in the site's folder]
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Open it in the browser
    #[arg(long)]
    pub open: bool,
    /// Draws behind predicted outcomes
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = load::draws())]
    pub draws: u32,
}

/// Makes the page.
///
/// # Errors
/// When the site can't be read, the ledger does not close, or the page can't be written.
pub fn run(args: &Args) -> Done {
    let target = args.output.clone().unwrap_or_else(|| args.site.dir.join("page.html"));
    let site = load::site(&args.site)?;
    load::tell(&site.problems, &site.sources, args.site.all);
    check_targets(&[(&target, Content::Page)], &site.sources)?;
    let judged = judged::judge(&site, args.draws)?;
    let against = judged::against(&site);
    let case = judged.case(&site, &against);
    let (report, annex) = (inspection::inspection(&case), inspection::annex(&case));
    let text = html::render(&screen::page(&case, &report, &annex));
    write_whole(&target, text.as_bytes())?;
    load::to_stderr(&format!("The page is in {}.\n", target.display()));
    if args.open {
        open::that(&target)
            .map_err(|cause| Stop::Could(format!("{} could not be opened: {cause}", target.display())))?;
    }
    Ok(())
}
