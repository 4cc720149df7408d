//! `page`: the report as one HTML file that opens by a double click.

use std::path::{Path, PathBuf};

use crate::cli::load::{self, Site, SiteArgs};
use crate::cli::progress::Stages;
use crate::cli::publish::made;
use crate::cli::watch::watch;
use crate::cli::{Done, Stop, judged};
use crate::files::{Content, check_targets, write_whole};
use crate::page::document::Part;
use crate::page::html::{self, Page};
use crate::report::screen;

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
    /// Make it again whenever a file of the site is saved, with the files' problems on top
    #[arg(long)]
    pub watch: bool,
    /// Draws behind predicted outcomes
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = load::draws())]
    pub draws: u32,
    /// The command and its flags, for whoever makes the page again.
    #[arg(skip)]
    pub asked: Vec<String>,
}

/// Makes the page.
///
/// # Errors
/// When the site can't be read, the ledger does not close, or the page can't be written.
pub fn run(args: &Args) -> Done {
    let target = args.output.clone().unwrap_or_else(|| args.site.dir.join("page.html"));
    if args.watch {
        return watch(args, &target);
    }
    let stages = Stages::new("reading the site");
    let site = load::site(&args.site)?;
    stages.aside(|| load::tell(&site.problems, &site.sources, args.site.all));
    stages.now("making the page");
    check_targets(&[(&target, Content::Page)], &site.sources)?;
    let mut page = page(&site, args.draws)?;
    if let Some(document) = &mut page.document {
        document.made = Some(made(&args.asked, &site.sources.files_read(), Part::Page));
    }
    write_whole(&target, html::render(&page).as_bytes())?;
    drop(stages);
    tell_where(args, &target)
}

/// The page of a site.
///
/// # Errors
/// When the ledger can't be computed or does not close.
pub fn page(site: &Site, draws: u32) -> Result<Page, Stop> {
    let (judged, against) = judged::judge_and_against(site, draws)?;
    Ok(screen::page(&judged.case(site, &against)))
}

/// Says where the page is, and opens it where that was asked for.
///
/// # Errors
/// When it was to be opened and can't be.
pub fn tell_where(args: &Args, target: &Path) -> Done {
    load::to_stderr(&format!("The page is in {}.\n", target.display()));
    if !args.open {
        return Ok(());
    }
    open::that(target).map_err(|cause| Stop::Could(format!("{} could not be opened: {cause}", target.display())))
}
