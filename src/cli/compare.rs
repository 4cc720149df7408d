//! `compare`: the site as it stands, tuned, and with each proposal.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;

use crate::cli::load::{Site, SiteArgs};
use crate::cli::progress::Work;
use crate::cli::publish::{OutputArgs, with_tables};
use crate::cli::{Done, Stop};
use crate::cli::{judged, load, trains};
use crate::compare::prices::Prices;
use crate::compare::{
    Alternative, Asked, Fit, FitAsked, OUTCOME_DRAWS, Recorded, SEED, Shared, Study, against_log, ask_for_a_log,
    at_log, break_evens, drivers, fewer_logged, fit, idle_washes, logged_by_vessel, looked, prices, proposal, single,
    study, tell_other_money, tell_unknown_names, without_driving_records,
};
use crate::facility;
use crate::facility::model::Facility;
use crate::files::yaml;
use crate::files::{Sources, fingerprint};
use crate::quantity;
use crate::report::case::json as compare_json;
use crate::report::case::{ComparedCase, annex, document};
use crate::report::screen;
use crate::rules::{FindingKind, Provenance};
use crate::told::{Place, Problem, Problems};

/// The folder of proposals.
const PROPOSALS: &str = "proposals";

/// The file of prices.
pub(super) const PRICES: &str = "prices.yaml";

/// Draws where none are asked for.
const DRAWS: u32 = 1000;

/// What `compare` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(before_help = "Example:\n    bywash compare demo-facility -o case.pdf")]
pub struct Args {
    /// The site and the period.
    #[command(flatten)]
    pub site: SiteArgs,
    /// A proposal; may be given again [default: every file in the site's folder proposals]
    #[arg(long = "with", value_name = "FILE")]
    pub with: Vec<PathBuf>,
    /// Where the outputs go.
    #[command(flatten)]
    pub outputs: OutputArgs,
    /// Write the case as one HTML page as well, with sliders over prices and lives
    #[arg(long, value_name = "FILE.html")]
    pub page: Option<PathBuf>,
    /// Try every train of the stages that stages.yaml allows, and draw those that no other beats
    #[arg(long, conflicts_with_all = ["with", "page", "fit"])]
    pub search: bool,
    /// Draws from the ranges [default: 1000, with --search 200]
    #[arg(long, value_name = "N", value_parser = load::draws())]
    pub draws: Option<u32>,
    /// Values to fit to the log within their ranges, such as "Sand beds / holds before a wash"
    #[arg(long, value_name = "NAME", value_delimiter = ',', requires_all = ["fit_on", "test_on"])]
    pub fit: Vec<String>,
    /// Dates to fit on, such as "1 Nov 2024 to 30 Apr 2025"
    #[arg(long, value_name = "DATES")]
    pub fit_on: Option<String>,
    /// Dates to test on
    #[arg(long, value_name = "DATES")]
    pub test_on: Option<String>,
}

/// Compares.
///
/// # Errors
/// When the site, a proposal or the prices can't be read, a balance can't be made, or an output can't be written.
pub fn run(args: &Args) -> Done {
    if args.search {
        return trains::run(args);
    }
    let draws = args.draws.unwrap_or(DRAWS);
    let mut site = load::site(&args.site)?;
    let (options, prices) = match read(args, &mut site) {
        Some(read) if !site.problems.has_errors() => read,
        _ => {
            load::tell(&site.problems, &site.sources, args.site.all);
            return Err(Stop::Could(String::new()));
        }
    };
    load::tell(&site.problems, &site.sources, args.site.all);
    let targets = args.outputs.targets(args.site.dir.join("case.pdf"));
    let targets = targets.with_page(args.page.as_ref()).checked(&site.sources)?;
    let timeline = without_driving_records(&site.timeline);
    let asked = Asked {
        options: &options,
        prices: &prices,
        weather: &site.weather,
        timeline: &timeline,
        log: &site.timeline,
        period: site.period,
        draws: u64::from(draws),
    };
    let told = |problems: Problems| {
        load::tell(&problems, &site.sources, args.site.all);
        Stop::Could(String::new())
    };
    let work = Work::new(options.len() as u64 * (u64::from(draws) + 1), "runs");
    let mut study = study(&asked, &|n| work.done(n)).map_err(told)?;
    work.finish();
    let work = Work::new(options.len().saturating_sub(1) as u64, "break-evens");
    let mut evens = Vec::new();
    for option in 1..study.options.len() {
        evens.push(break_evens(&study, &asked, option).map_err(told)?);
        work.done(1);
    }
    work.finish();
    let driven: Vec<_> = (1..study.options.len()).map(|option| drivers(&study, option, 0)).collect();
    let log = study
        .options
        .first()
        .map_or_else(Vec::new, |of| against_log(&site.facility, &site.timeline, &of.run.ledger, site.period));
    let at_log = at_log(&study, &asked).map_err(told)?;
    let recorded = recorded(&site, draws)?;
    let looks =
        study.options.first().map_or_else(Vec::new, |of| looked(&site.facility, &site.timeline, &of.run.ledger));
    study.doubted_by(&log, &recorded, &looks);
    study.try_money(&asked, &prices).map_err(told)?;
    let fitted = fitted(args, &site, &asked, &study)?;
    let files = site.sources.files_read();
    let digest = fingerprint(&files);
    let warnings: Vec<String> = site.problems.in_order().iter().map(Problem::to_string_line).collect();
    let case = ComparedCase {
        study: &study,
        facility: &site.facility,
        timeline: &site.timeline,
        weather: &site.weather,
        log: &log,
        recorded: &recorded,
        break_evens: &evens,
        drivers: &driven,
        at_log: at_log.as_ref(),
        fit: fitted.as_ref(),
        as_of: site.as_of,
        authority: site.rules.as_ref().map(|rules| rules.authority.as_str()),
        files: &files,
        digest: &digest,
        warnings: &warnings,
        letterhead: &site.letterhead,
    };
    let document = document(&case);
    targets.write(
        "The case",
        &document,
        || annex(&case),
        || with_tables(compare_json::compared(&case), &[&document, &annex(&case)]),
    )?;
    targets.write_page(|| screen::case::page(&case))
}

/// How the inspection report has each limit.
pub(super) fn recorded(site: &Site, draws: u32) -> Result<Vec<Recorded>, Stop> {
    Ok(judged::judge(site, draws.min(OUTCOME_DRAWS as u32))?
        .findings
        .into_iter()
        .filter(|finding| finding.kind == FindingKind::Limit)
        .map(|finding| Recorded {
            worst: finding.figure.filter(|of| of.provenance == Provenance::Measured).map(|of| of.low),
            limit: finding.name,
            outcome: finding.outcome,
        })
        .collect())
}

/// The options, the site as it stands first, and the prices. What is wrong is told to the site's problems.
fn read(args: &Args, site: &mut Site) -> Option<(Vec<Alternative>, Prices)> {
    let problems = std::mem::take(&mut site.problems);
    let read = read_with(args, site, &problems);
    site.problems = problems;
    read
}

fn read_with(args: &Args, site: &mut Site, problems: &Problems) -> Option<(Vec<Alternative>, Prices)> {
    let sources = &mut site.sources;
    if !sources.exists(PRICES) {
        problems.add(Problem::error(&Place::file(PRICES), "there is no prices.yaml in this folder").hint(
            "comparing needs prices; `bywash new` writes a prices.yaml to begin with, and the demonstration has one",
        ));
    }
    let names = if args.with.is_empty() {
        let names = proposals(sources, problems);
        if names.is_empty() {
            problems.add(Problem::error(&Place::file("proposals"), "there is no proposal to compare").hint(
                "write one into the folder proposals (the demonstration's tuned.yaml says how), or give --with FILE",
            ));
        }
        names
    } else {
        args.with.iter().map(|path| within(path, &args.site.dir)).collect()
    };
    let all = args.with.is_empty();
    read_files(&args.site.dir, &site.facility, &names, all, sources, problems)
}

/// The files in the folder of proposals, by name.
fn proposals(sources: &Sources, problems: &Problems) -> Vec<String> {
    if !sources.exists(PROPOSALS) {
        return Vec::new();
    }
    match sources.list(PROPOSALS, &["yaml", "yml"]) {
        Ok(names) => names,
        Err(cause) => {
            problems.add(
                Problem::error(&Place::file(PROPOSALS), format!("the folder of proposals can't be listed: {cause}"))
                    .hint("look at who may read it"),
            );
            Vec::new()
        }
    }
}

/// Tells the problems of prices and proposals, where there are any. Without a facility that could be read each file is
/// read by itself.
pub fn tell_problems(directory: &Path, facility: Option<&Facility>, sources: &mut Sources, problems: &Problems) {
    let names = proposals(sources, problems);
    if let Some(facility) = facility {
        let read = read_files(directory, facility, &names, true, sources, problems);
        trains::tell_problems(directory, Some(facility), read.as_ref().map(|read| &read.1), sources, problems);
        return;
    }
    prices_in(sources, problems);
    trains::tell_problems(directory, None, None, sources, problems);
    for name in names {
        if let Some(source) = sources.text(&name, None, problems)
            && let Some(tree) = yaml::tree(&source, problems)
        {
            proposal::read(&tree, problems);
        }
    }
}

/// The options of all proposals, and the prices, where they can be read. What is wrong was told before.
fn read_quietly(site: &mut Site) -> Option<(Vec<Alternative>, Prices)> {
    let quiet = Problems::new();
    let names = proposals(&site.sources, &quiet);
    let directory = site.facility.directory.clone();
    read_files(&directory, &site.facility, &names, true, &mut site.sources, &quiet)
}

/// What passes over to the filters of proposals from those of their kind that they stand for.
pub(super) fn passes_over(site: &mut Site) -> Vec<String> {
    let mut out = Vec::new();
    let Some((options, prices)) = read_quietly(site) else { return out };
    for of in &options {
        for (new, old, lines) in of.passed_over(&prices) {
            out.push(format!(
                "{}: {new} is of the same kind as {old} and takes over {}; a line of the sort typed for {new} stands in its place",
                of.file.as_deref().unwrap_or_default(),
                lines.join(", ")
            ));
        }
    }
    out
}

/// What the site and its proposals, computed without records, do that their log and meters speak against.
pub(super) fn beside_the_log(site: &mut Site) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let options = read_quietly(site).map_or_else(Vec::new, |read| read.0);
    let timeline = without_driving_records(&site.timeline);
    let shared = Shared { weather: &site.weather, timeline: &timeline, period: site.period, seed: SEED };
    let run = |facility: &Facility| single(facility, &shared).ok();
    if let Some(run) = run(&site.facility) {
        let log = against_log(&site.facility, &site.timeline, &run.ledger, site.period);
        out.extend(idle_washes(&site.facility, &run.ledger, &|id, _| fewer_logged(&log, id)));
        out.extend(logged_by_vessel(&site.facility, &log));
        out.extend(ask_for_a_log(&site.facility, &log).filter(|_| site.sources.exists(PRICES)));
    }
    for of in options.iter().skip(1) {
        let Some(run) = run(&of.facility) else { continue };
        for words in idle_washes(&of.facility, &run.ledger, &|_, name| site.facility.find(name).is_none())
            .into_iter()
            .filter(|words| !out.contains(words))
            .collect::<Vec<_>>()
        {
            // A filter of the site that other water comes to has been told of.
            let is_new = |name: &str| site.facility.find(name).is_none();
            if words.split_once(": ").is_some_and(|(name, _)| is_new(name)) {
                out.push(words);
            }
        }
    }
    out
}

pub(super) fn prices_in(sources: &mut Sources, problems: &Problems) -> Option<Prices> {
    if !sources.exists(PRICES) {
        return None;
    }
    let source = sources.text(PRICES, None, problems)?;
    let tree = yaml::tree(&source, problems)?;
    prices::read(&tree, problems)
}

/// The prices, where their file was read before; what is wrong with it was told then.
pub(super) fn prices_read(sources: &Sources) -> Option<Prices> {
    let quiet = Problems::new();
    let source = sources.texts().find(|source| *source.name == *PRICES)?;
    prices::read(&yaml::tree(source, &quiet)?, &quiet)
}

/// The options of these proposals, the site as it stands first, and the prices. `all` says that no proposal is left out.
fn read_files(
    directory: &Path,
    facility: &Facility,
    names: &[String],
    all: bool,
    sources: &mut Sources,
    problems: &Problems,
) -> Option<(Vec<Alternative>, Prices)> {
    // The facility's own warnings have been told.
    let quiet = Problems::new();
    let tree = facility::tree(directory, sources, &quiet)?;
    let rules = match &facility.rules {
        None => None,
        Some((path, place)) => {
            let source = sources.text(path, Some(place), problems)?;
            Some(yaml::tree(&source, &quiet)?)
        }
    };
    let errors = problems.errors();
    let prices = prices_in(sources, problems);
    let mut options: Vec<Alternative> =
        Alternative::as_it_stands(&tree, directory, rules.as_ref(), &quiet).into_iter().collect();
    for name in names {
        let Some(source) = sources.text(name, None, problems) else {
            continue;
        };
        let Some(proposed) = yaml::tree(&source, problems) else {
            continue;
        };
        let Some(proposal) = proposal::read(&proposed, problems) else {
            continue;
        };
        if options.iter().any(|known| known.name == proposal.name) {
            problems.add(Problem::error(&proposed.place, format!("two options are named `{}`", proposal.name)));
            continue;
        }
        options.extend(Alternative::proposed(&tree, facility, &proposal, rules.as_ref(), problems));
    }
    // Tuned stands beside the site as it stands, the others after it.
    if let Some((_, others)) = options.split_first_mut() {
        others.sort_by_key(|of| !of.tuned);
    }
    let prices = prices?;
    tell_other_money(&prices, &options, problems);
    // A proposal that could not be read, or was left out, may be what a price is for.
    if all && problems.errors() == errors {
        tell_unknown_names(&prices, &options, problems);
    }
    Some((options, prices))
}

/// A path as the site's folder knows it: as given if it lies there, else from the folder we stand in.
fn within(path: &Path, dir: &Path) -> String {
    let text = |path: &Path| path.to_string_lossy().into_owned();
    if dir.join(path).exists() {
        return text(path);
    }
    match path.strip_prefix(dir) {
        Ok(inside) => text(inside),
        Err(_) => match std::path::absolute(path) {
            Ok(whole) if whole.exists() => text(&whole),
            _ => text(path),
        },
    }
}

fn fitted(args: &Args, site: &Site, asked: &Asked<'_>, study: &Study) -> Result<Option<Fit>, Stop> {
    let (Some(fit_on), Some(test_on), Some(of)) = (&args.fit_on, &args.test_on, study.options.first()) else {
        return Ok(None);
    };
    if args.fit.is_empty() {
        return Ok(None);
    }
    let fit_on = dates("--fit-on", fit_on)?;
    let test_on = dates("--test-on", test_on)?;
    for (flag, (from, to)) in [("--fit-on", fit_on), ("--test-on", test_on)] {
        if from < site.period.0 || to > site.period.1 {
            return Err(Stop::Could(format!(
                "{flag} must lie within the period compared, {} to {}",
                site.period.0, site.period.1
            )));
        }
    }
    let work = Work::new(0, "runs of the fit");
    let fit =
        fit(&of.alternative, &site.timeline, &asked.shared(), &FitAsked { names: &args.fit, fit_on, test_on }, &|n| {
            work.done(n)
        })
        .map_err(|words| Stop::Could(format!("--fit: {words}")))?;
    work.finish();
    Ok(Some(fit))
}

fn dates(flag: &str, text: &str) -> Result<(NaiveDate, NaiveDate), Stop> {
    match quantity::date_range(text) {
        Ok(quantity::DateRange::Dates { first, last }) if first <= last => Ok((first, last)),
        Ok(_) => Err(Stop::Could(format!("{flag}: `{text}` needs its years, such as \"1 Nov 2024 to 30 Apr 2025\""))),
        Err(wrong) => Err(Stop::Could(format!("{flag}: {wrong}"))),
    }
}
