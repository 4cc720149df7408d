//! `compare --search`: which train? Every train that stages.yaml allows, against the site as it stands.

use std::path::Path;

use crate::cli::compare::{Args, PRICES, prices_in, recorded};
use crate::cli::load::{self, Site};
use crate::cli::progress::Work;
use crate::cli::publish::with_tables;
use crate::cli::{Done, Stop};
use crate::compare::prices::Prices;
use crate::compare::search::{self, Ground, Search};
use crate::compare::{
    Alternative, Asked, Study, against_log, looked, study, tell_other_money, without_driving_records,
};
use crate::facility;
use crate::facility::model::Facility;
use crate::files::yaml::{self, Node};
use crate::files::{Sources, fingerprint};
use crate::report::case::ComparedCase;
use crate::report::trains::{TrainsCase, annex, document, json};
use crate::told::{Place, Problem, Problems};

/// The file of stages.
const STAGES: &str = "stages.yaml";

/// Draws where none are asked for.
const DRAWS: u32 = 200;

/// What the trains are built on, as read.
struct Read {
    tree: Node,
    rules: Option<Node>,
    prices: Prices,
    stages: search::Stages,
}

/// Tells the problems of the file of stages, where there is one.
pub(super) fn tell_problems(
    directory: &Path,
    facility: Option<&Facility>,
    prices: Option<&Prices>,
    sources: &mut Sources,
    problems: &Problems,
) {
    if !sources.exists(STAGES) {
        return;
    }
    let Some(stages) = read_stages(sources, problems) else { return };
    let quiet = Problems::new();
    if let (Some(facility), Some(prices), Some(tree)) = (facility, prices, facility::tree(directory, sources, &quiet)) {
        Search::new(stages, Ground { tree: &tree, facility, rules: None, prices }, problems);
    }
}

fn read_stages(sources: &mut Sources, problems: &Problems) -> Option<search::Stages> {
    let source = sources.text(STAGES, None, problems)?;
    let tree = yaml::tree(&source, problems)?;
    search::read(&tree, problems)
}

fn read(args: &Args, site: &mut Site, problems: &Problems) -> Option<Read> {
    let sources = &mut site.sources;
    for (name, what) in [(PRICES, "comparing needs prices"), (STAGES, "a search needs the stages that are allowed")] {
        if !sources.exists(name) {
            problems
                .add(Problem::error(&Place::file(name), format!("there is no {name} in this folder")).hint(format!(
                    "{what}; `bywash new` writes a {name} to begin with, and the demonstration has one"
                )));
        }
    }
    // The facility's own warnings have been told.
    let quiet = Problems::new();
    let tree = facility::tree(&args.site.dir, sources, &quiet)?;
    let rules = match &site.facility.rules {
        None => None,
        Some((path, place)) => {
            let source = sources.text(path, Some(place), problems)?;
            Some(yaml::tree(&source, &quiet)?)
        }
    };
    let prices = prices_in(sources, problems);
    let stages = if sources.exists(STAGES) { read_stages(sources, problems) } else { None };
    Some(Read { tree, rules, prices: prices?, stages: stages? })
}

/// Searches.
///
/// # Errors
/// When the site, the stages or the prices can't be read, a balance can't be made, or an output can't be written.
pub(super) fn run(args: &Args) -> Done {
    let mut site = load::site(&args.site)?;
    let problems = std::mem::take(&mut site.problems);
    let read = read(args, &mut site, &problems);
    let fitted = read.as_ref().and_then(|read| {
        let ground =
            Ground { tree: &read.tree, facility: &site.facility, rules: read.rules.as_ref(), prices: &read.prices };
        let search = Search::new(read.stages.clone(), ground, &problems)?;
        let quiet = Problems::new();
        let stands = Alternative::as_it_stands(&read.tree, &args.site.dir, read.rules.as_ref(), &quiet)?;
        tell_other_money(&read.prices, std::slice::from_ref(&stands), &problems);
        Some((search, stands, &read.prices))
    });
    load::tell(&problems, &site.sources, args.site.all);
    let Some((search, stands, prices)) = fitted.filter(|_| !problems.has_errors()) else {
        return Err(Stop::Could(String::new()));
    };
    site.problems = problems;
    let targets = args.outputs.targets(args.site.dir.join("trains.pdf")).checked(&site.sources)?;
    let timeline = without_driving_records(&site.timeline);
    let draws = args.draws.unwrap_or(DRAWS);
    let asked = Asked {
        options: std::slice::from_ref(&stands),
        prices,
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
    let mut alone: Study = study(&asked, &|_| {}).map_err(told)?;
    let log = alone
        .options
        .first()
        .map_or_else(Vec::new, |of| against_log(&site.facility, &site.timeline, &of.run.ledger, site.period));
    let recorded = recorded(&site, draws)?;
    let looks =
        alone.options.first().map_or_else(Vec::new, |of| looked(&site.facility, &site.timeline, &of.run.ledger));
    alone.doubted_by(&log, &recorded, &looks);
    let files = site.sources.files_read();
    let digest = fingerprint(&files);
    let warnings: Vec<String> = site.problems.in_order().iter().map(Problem::to_string_line).collect();
    let case = ComparedCase {
        study: &alone,
        facility: &site.facility,
        timeline: &site.timeline,
        weather: &site.weather,
        log: &log,
        recorded: &recorded,
        break_evens: &[],
        drivers: &[],
        at_log: None,
        fit: None,
        as_of: site.as_of,
        authority: site.rules.as_ref().map(|rules| rules.authority.as_str()),
        files: &files,
        digest: &digest,
        warnings: &warnings,
        letterhead: &site.letterhead,
    };
    let work = Work::new(search.to_run(&alone) as u64 * (u64::from(draws) + 1), "runs");
    let found = search.found(&alone, &asked, &|n| work.done(n)).map_err(told)?;
    work.finish();
    let case = TrainsCase { case, search: &search, found: &found };
    let document = document(&case);
    targets.write(
        "Which train",
        &document,
        || annex(&case),
        || with_tables(json::found(&case), &[&document, &annex(&case)]),
    )
}
