//! `size`: the least pond that meets its duties, as PDF, JSON and tables.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;

use crate::balance::{self, Draw, Run};
use crate::cli::load;
use crate::cli::load::DressArgs;
use crate::cli::progress::Stages;
use crate::cli::publish::{OutputArgs, with_tables};
use crate::cli::{Done, Stop};
use crate::compare::{Against, against_log, proposal, without_driving_records};
use crate::facility;
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::files::yaml::Node;
use crate::files::{Sources, fingerprint, yaml};
use crate::quantity::{MOST_DAYS, days_of, too_long};
use crate::records;
use crate::records::Timeline;
use crate::report::basin;
use crate::report::basin::BasinCase;
use crate::report::{picture, screen};
use crate::sizing;
use crate::sizing::{DUTIES_FILE, Duties, Site};
use crate::told::{Place, Problem, Problems};
use crate::weather::{self, DailyWeather};

/// What `size` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(before_help = "Example:\n    bywash size demo-facility -o basin.pdf")]
pub struct Args {
    /// The site's folder, with its facility.yaml
    #[arg(value_name = "DIR")]
    pub dir: PathBuf,
    /// The pond to size [default: the one that the duties file names]
    #[arg(long, value_name = "NAME")]
    pub pond: Option<String>,
    /// Hold the pond that stands (or that a proposal draws) against the duties, and say what would make it do them
    #[arg(long, value_name = "POND", conflicts_with = "pond")]
    pub this: Option<String>,
    /// What the pond must do, and the ground there is [default: basin.yaml in the site's folder]
    #[arg(long, value_name = "FILE")]
    pub duties: Option<PathBuf>,
    /// First and last day of the weather [default: all that the rain gauge covers]
    #[arg(long, value_name = "DATES")]
    pub period: Option<String>,
    /// Where the outputs go.
    #[command(flatten)]
    pub outputs: OutputArgs,
    /// Write the document as one HTML page as well, with a slider over the sizes that were run
    #[arg(long, value_name = "FILE.html")]
    pub page: Option<PathBuf>,
    /// Units and sheet.
    #[command(flatten)]
    pub dress: DressArgs,
    /// Show every problem, and not a screen of them
    #[arg(long)]
    pub all: bool,
}

/// Everything read for the question.
struct Read {
    /// The site as it stands, and its records.
    present: Facility,
    timeline: Timeline,
    /// The site in which the pond is sized.
    facility: Facility,
    pond: PlaceId,
    duties: Duties,
    weather: DailyWeather,
    period: (NaiveDate, NaiveDate),
    not_built: bool,
}

/// Sizes a pond.
///
/// # Errors
/// When the site or the duties can't be read, the balance is impossible, or an output can't be written. That no pond does
/// its duties is an answer, not an error.
pub fn run(args: &Args) -> Done {
    let period = args.period.as_deref().map(load::period_of).transpose()?;
    let mut sources = Sources::new(&args.dir);
    let mut problems = Problems::new();
    let read = read(args, period, &mut sources, &mut problems);
    load::tell(&problems, &sources, args.all);
    let Some(mut read) = read.filter(|_| !problems.has_errors()) else {
        return Err(Stop::Could(String::new()));
    };
    args.dress.put_on(&mut read.facility);
    let targets = args.outputs.targets(args.dir.join("basin.pdf"));
    let targets = targets.with_page(args.page.as_ref()).checked(&sources)?;
    let stages = Stages::new("reading");
    let site = Site { facility: &read.facility, pond: read.pond, weather: &read.weather, period: read.period };
    let progress = |what: &str| stages.now(what);
    let studied = match args.this {
        Some(_) => sizing::study_this(site, read.duties.clone(), &progress),
        None => sizing::study(site, read.duties.clone(), &progress),
    };
    drop(stages);
    let study = match studied {
        Ok(study) => study,
        Err(told) => {
            load::tell(&told, &sources, args.all);
            return Err(Stop::Could(String::new()));
        }
    };
    let present = as_it_stands(&read);
    let picture =
        present.as_ref().map(|of| picture::Site { facility: &read.present, ledger: &of.run.ledger, period: of.period });
    let files = sources.files_read();
    let warnings: Vec<String> = problems.in_order().iter().map(|problem| problem.to_string_line()).collect();
    let digest = fingerprint(&files);
    let case = BasinCase {
        study: &study,
        facility: &read.facility,
        pond: read.pond,
        not_built: read.not_built,
        weather: &read.weather,
        period: read.period,
        log: present.as_ref().map_or(&[], |of| &of.log),
        present: picture,
        files: &files,
        digest: &digest,
        warnings: &warnings,
    };
    let document = basin::document(&case);
    targets.write(
        "The pond",
        &document,
        || basin::annex(&case),
        || with_tables(basin::json(&case), &[&document, &basin::annex(&case)]),
    )?;
    targets.write_page(|| screen::basin::page(&case))
}

/// The site as it stands, run without its readings.
struct AsItStands {
    run: Run,
    period: (NaiveDate, NaiveDate),
    /// Levels of the pond, read and computed without the readings.
    log: Vec<Against>,
}

/// The site as it stands over the days from the first to the last level read of the pond. None where nothing was read, or
/// the site as it stands can't be run.
fn as_it_stands(read: &Read) -> Option<AsItStands> {
    let name = &read.facility.get(read.pond)?.name;
    let pond = read.present.find(name)?;
    let dates: Vec<NaiveDate> = read.timeline.levels.iter().filter(|of| of.at == pond).map(|of| of.day).collect();
    // The level at the start is that of the period typed.
    let first = read.present.period.map_or(*dates.iter().min()?, |period| period.0).max(read.period.0);
    let period = (first, (*dates.iter().max()?).min(read.period.1));
    if period.0 > period.1 {
        return None;
    }
    let timeline = without_driving_records(&read.timeline);
    let run = balance::run(&read.present, &read.weather, &timeline, period, &Draw::MIDDLE).ok()?;
    let mut log = against_log(&read.present, &read.timeline, &run.ledger, period);
    log.retain(|of| of.at == pond && of.level.is_some());
    Some(AsItStands { run, period, log })
}

/// The duties file as it is asked of the sources: from the site's folder where it lies in it.
fn duties_name(args: &Args) -> String {
    let Some(path) = &args.duties else {
        return DUTIES_FILE.to_owned();
    };
    match path.strip_prefix(&args.dir) {
        Ok(inside) => inside.to_string_lossy().into_owned(),
        Err(_) => std::path::absolute(path).unwrap_or_else(|_| path.clone()).to_string_lossy().into_owned(),
    }
}

fn read(
    args: &Args,
    period: Option<(NaiveDate, NaiveDate)>,
    sources: &mut Sources,
    problems: &mut Problems,
) -> Option<Read> {
    let as_it_stands = facility::tree(&args.dir, sources, problems)?;
    let name = duties_name(args);
    if !sources.exists(&name) {
        problems.add(
            Problem::error(&Place::file(&name), "there is no duties file, so nothing says what the pond must do")
                .hint("copy templates/basin.yaml into the site's folder and change it, or give --duties FILE"),
        );
        return None;
    }
    let (present, facility, duties) = duties_in(&args.dir, &name, &as_it_stands, sources, problems)?;
    let pond = pond(args.this.as_deref().or(args.pond.as_deref()), &facility, &duties, problems);
    let timeline = records::read(&present, sources, problems);
    let on_file = weather::extent(&facility, &timeline.rain, sources, problems);
    let Some(on_file) = on_file else {
        problems.add(
            Problem::error(&facility.place, "there is no rain on record, so no years of weather can be run")
                .hint("give the rain of as many years as you can get: `weather: {rain: {file: rain.csv, …}}`"),
        );
        return None;
    };
    let period = with_rain(period, on_file, problems)?;
    if days_of(period) > MOST_DAYS {
        let hint = "give the years to be run with --period";
        problems.add(Problem::error(&facility.place, format!("the rain on record: {}", too_long(period))).hint(hint));
        return None;
    }
    let weather = weather::read(&facility, period, &timeline.rain, sources, problems);
    let pond = pond?;
    let not_built = facility.get(pond).is_some_and(|place| present.find(&place.name).is_none());
    Some(Read { present, timeline, facility, pond, duties, weather, period, not_built })
}

/// The days asked for that have rain on file: days without are no years of weather.
fn with_rain(
    asked: Option<(NaiveDate, NaiveDate)>,
    on_file: (NaiveDate, NaiveDate),
    problems: &Problems,
) -> Option<(NaiveDate, NaiveDate)> {
    let Some(asked) = asked else { return Some(on_file) };
    let both = (asked.0.max(on_file.0), asked.1.min(on_file.1));
    let place = Place::file("--period");
    let told = format!("rain is on file from {} to {}", on_file.0, on_file.1);
    if both.0 > both.1 {
        problems.add(Problem::error(&place, format!("{told}, and none of the days asked for")));
        return None;
    }
    if both != asked {
        let run = format!("{told}: {} to {} are run", both.0, both.1);
        problems.add(Problem::warning(&place, run).hint("days without rain on file are no years of weather"));
    }
    Some(both)
}

/// The site as it stands, the site in which the pond is sized, and the duties of a file.
fn duties_in(
    directory: &Path,
    name: &str,
    as_it_stands: &Node,
    sources: &mut Sources,
    problems: &Problems,
) -> Option<(Facility, Facility, Duties)> {
    let source = sources.text(name, None, problems)?;
    let tree = yaml::tree(&source, problems)?;
    let duties = sizing::read(&tree, problems);
    // Records stand for the site as it is; here only their rain is wanted.
    let present = facility::from_tree(as_it_stands, directory, problems);
    let facility = match duties.as_ref().and_then(|duties| duties.proposal.as_ref()) {
        None => present.clone(),
        Some(said) => {
            let from_duties = Path::new(name).parent().unwrap_or_else(|| Path::new("")).join(&said.value);
            let source = sources.text(&from_duties.to_string_lossy(), Some(&said.place), problems)?;
            let patch = yaml::tree(&source, problems).and_then(|tree| proposal::read(&tree, problems))?;
            let (patched, _) = proposal::apply(as_it_stands, &patch, problems);
            facility::from_tree(&patched, directory, problems)
        }
    };
    let (Some(present), Some(facility), Some(duties)) = (present, facility, duties) else {
        return None;
    };
    Some((present, facility, duties))
}

/// Tells the problems of the duties file, where there is one. Without a facility that could be read only its own lines
/// are looked at.
pub fn tell_problems(directory: &Path, sources: &mut Sources, problems: &Problems) {
    if !sources.exists(DUTIES_FILE) {
        return;
    }
    let quiet = Problems::new();
    let as_it_stands = facility::tree(directory, sources, &quiet)
        .filter(|tree| facility::from_tree(tree, directory, &quiet).is_some() && !quiet.has_errors());
    match as_it_stands {
        Some(tree) => {
            let read = duties_in(directory, DUTIES_FILE, &tree, sources, problems);
            // A file that names no pond leaves it to the command line.
            if let Some((_, facility, duties)) = read
                && duties.pond.is_some()
            {
                pond(None, &facility, &duties, problems);
            }
        }
        None => {
            if let Some(source) = sources.text(DUTIES_FILE, None, problems)
                && let Some(tree) = yaml::tree(&source, problems)
            {
                sizing::read(&tree, problems);
            }
        }
    }
}

/// The pond that is meant.
fn pond(named: Option<&str>, facility: &Facility, duties: &Duties, problems: &Problems) -> Option<PlaceId> {
    let (name, place) = match (named, &duties.pond) {
        (Some(name), _) => (name.to_owned(), Place::file("--pond")),
        (None, Some(said)) => (said.value.clone(), said.place.clone()),
        (None, None) => {
            let ponds = ponds(facility);
            if let [only] = ponds.as_slice() {
                return facility.find(only);
            }
            problems.add(
                Problem::error(&Place::file(&duties.file), "nothing says which pond is to be sized")
                    .hint(format!("write `pond: …` or give --pond; there are: {}", ponds.join(", "))),
            );
            return None;
        }
    };
    let found = facility.find(&name);
    let is_pond = found.and_then(|id| facility.get(id)).is_some_and(|place| matches!(place.kind, PlaceKind::Pond(_)));
    if is_pond {
        return found;
    }
    let ponds = ponds(facility);
    let near = crate::quantity::nearest(&name, ponds.iter().map(String::as_str));
    let message = match found {
        Some(_) => format!("`{name}` is no pond"),
        None => format!("there is no pond `{name}`"),
    };
    let hint = match near {
        Some(near) => format!("did you mean `{near}`?"),
        None if ponds.is_empty() => {
            "describe it under `ponds`, with a shape of any size, or in a proposal: `with proposal: FILE`".to_owned()
        }
        None => format!(
            "there are: {}. A pond that is not built is described in a proposal: `with proposal: FILE`",
            ponds.join(", ")
        ),
    };
    problems.add(Problem::error(&place, message).hint(hint));
    None
}

fn ponds(facility: &Facility) -> Vec<String> {
    facility
        .places
        .iter()
        .filter(|place| matches!(place.kind, PlaceKind::Pond(_)))
        .map(|place| place.name.clone())
        .collect()
}
