//! `check`: every problem, then the site read back, the record sources, and what to find out next.

use crate::cli::Done;
use crate::cli::judged::Judged;
use crate::cli::load::{Site, SiteArgs};
use crate::cli::{compare, judged, load, new, size};
use crate::compare::read_back;
use crate::files::Sources;
use crate::records::{Repair, SourceSummary};
use crate::rules::{Finding, FindingKind, Outcome, RulesFile};
use crate::told::{Lines, Place, Problem, Problems, Severity, named};
use crate::{facility, quantity, records, rules, weather};

/// What `check` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(before_help = "Example:\n    bywash check demo-facility")]
pub struct Args {
    /// The site and the period.
    #[command(flatten)]
    pub site: SiteArgs,
    /// Tell problems only
    #[arg(long)]
    pub quiet: bool,
}

/// Passes problems on, but those of a file that `new` wrote and nobody has touched: it is of the starter's own places, and
/// not wrong for not being of these.
fn pass_on(further: &Problems, sources: &Sources, problems: &Problems) {
    let mut left: Vec<String> = Vec::new();
    for problem in further.in_order() {
        let file = problem.place.file.to_string();
        let starter = new::STARTERS.iter().find(|(name, _)| **name == file).map(|(_, text)| *text);
        // What can't be read can't be called the starter's own: only what was read is looked at.
        let untouched = || {
            let read = sources.texts().find(|source| *source.name == *file);
            read.zip(starter).is_some_and(|(source, starter)| source.text.trim() == starter.trim())
        };
        if problem.severity != Severity::Error || !untouched() {
            problems.add(problem);
        } else if !left.contains(&file) {
            problems.add(
                Problem::new(
                    Severity::Note,
                    &Place::file(&file),
                    "this is the starter's own, of places that are not on this site; it is left out",
                )
                .hint("write it for this site before you use it, or remove it"),
            );
            left.push(file);
        }
    }
}

/// Checks a site.
///
/// # Errors
/// When there is a problem that is an error.
pub fn run(args: &Args) -> Done {
    let directory = &args.site.dir;
    let mut site = load::site_and(&args.site, &|facility, sources, problems| {
        // Where there is no site at all, that alone is told.
        if sources.exists(facility::FACILITY_FILE) {
            let further = Problems::new();
            compare::tell_problems(directory, facility, sources, &further);
            size::tell_problems(directory, sources, &further);
            pass_on(&further, sources, problems);
        }
    })?;
    load::tell(&site.problems, &site.sources, args.site.all);
    if args.quiet {
        // What passes here must run elsewhere too.
        return load::run(&site).map(|_| ());
    }
    let told = read_back(&site);
    let judged = judged::judge(&site, 50)?;
    let mut out = String::new();
    out.push_str("What is on the site, read back\n");
    sentences(&mut out, &told.site);
    if site.rules.is_some() {
        out.push_str("\nWhat the permit says, read back\n");
        sentences(&mut out, &told.permit);
    }
    // What is wrong there has been told.
    if let Some(prices) = compare::prices_read(&site.sources) {
        out.push_str("\nWhat prices.yaml says, read back\n");
        sentences(&mut out, &read_back::sentences(&prices));
        for sentence in compare::passes_over(&mut site) {
            load::wrapped(&mut out, &sentence);
        }
    }
    if !told.records.is_empty() {
        out.push_str("\nWhat is on file, read back\n");
    }
    for sentence in &told.records {
        load::wrapped(&mut out, sentence);
    }
    out.push_str("\nRecords\n");
    if told.sources.is_empty() {
        out.push_str("  none: nothing will be compared with this site\n");
    }
    for sentence in &told.sources {
        load::wrapped(&mut out, sentence);
    }
    for sentence in by_kind(&site.timeline.repairs) {
        load::wrapped(&mut out, &sentence);
    }
    for sentence in compare::beside_the_log(&mut site) {
        load::wrapped(&mut out, &sentence);
    }
    out.push_str("\nBefore you hand over, in this order\n");
    let letters = to_write(&judged);
    let open = still_open(&site, &judged);
    if letters.is_empty() && judged.worklist.is_empty() && open.is_empty() {
        out.push_str("  nothing: every value is typed, every limit is shown, and no outcome turns\n    on a range\n");
    }
    for sentence in &letters {
        load::wrapped(&mut out, sentence);
    }
    for sentence in together(&judged.worklist) {
        load::wrapped(&mut out, &sentence);
    }
    for sentence in &open {
        load::wrapped(&mut out, sentence);
    }
    let likely: Vec<&Finding> = judged.findings.iter().filter(|finding| finding.likelihood.is_some()).collect();
    if !likely.is_empty() {
        out.push_str("\nFor you alone; no report says it\n");
        for finding in likely {
            load::wrapped(
                &mut out,
                &format!("{}: {}", finding.name, finding.likelihood.as_deref().unwrap_or_default()),
            );
        }
    }
    load::words_to_stdout(&out)?;
    Ok(())
}

/// What is the same of several things once: `pH 1; pH 2 and 3 more: A look for each day.`
fn together(list: &[(String, String)]) -> Vec<String> {
    let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
    for (what, effect) in list {
        match groups.iter_mut().find(|(known, _)| known == effect) {
            Some((_, names)) => names.push(what),
            None => groups.push((effect, vec![what])),
        }
    }
    groups.into_iter().map(|(effect, names)| format!("{}: {effect}", named(&names))).collect()
}

/// Repairs of one kind once: the first with its place, and how many more there are.
pub(super) fn by_kind(repairs: &[Repair]) -> Vec<String> {
    let mut kinds: Vec<(String, &Repair, usize)> = Vec::new();
    for repair in repairs {
        let kind = kind_of(&repair.sentence);
        match kinds.iter_mut().find(|(held, ..)| *held == kind) {
            Some((_, _, more)) => *more += 1,
            None => kinds.push((kind, repair, 0)),
        }
    }
    let said = |(_, first, more): &(String, &Repair, usize)| match more {
        0 => format!("{}: {}", first.place, first.sentence),
        1 => format!("{}: {}; and one more like it", first.place, first.sentence),
        more => format!("{}: {}; and {more} more like it", first.place, first.sentence),
    };
    kinds.iter().map(said).collect()
}

/// A sentence without its figures and what it quotes.
fn kind_of(sentence: &str) -> String {
    let unquoted: String = sentence.split('`').step_by(2).collect();
    unquoted.chars().filter(|c| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | ':'))).collect()
}

/// What a site says, in sentences that a second person can hold against the papers.
#[derive(Debug, Clone, Default)]
pub struct ReadBack {
    /// Places and meters, with where each was typed.
    pub site: Vec<(Place, String)>,
    /// Limits and notices, with where each was typed.
    pub permit: Vec<(Place, String)>,
    /// What is on file, and as of when it is judged.
    pub records: Vec<String>,
    /// How complete each source of records is.
    pub sources: Vec<String>,
}

/// Reads a site back.
pub fn read_back(site: &Site) -> ReadBack {
    let mut permit = Vec::new();
    if let Some(rules) = &site.rules {
        permit.push((rules.place.clone(), permit_head(rules)));
        permit.extend(rules::sentences(rules));
    }
    let mut records = records::read_back(&site.facility, &site.timeline);
    records.extend(weather::read_back(&site.facility, &site.weather));
    let last = site.timeline.observations.iter().max_by_key(|seen| seen.date);
    if let Some(last) = last.filter(|last| last.date == site.as_of) {
        records.push(format!(
            "judged from {} to {} as of {}, the last day on file ({} {})",
            site.period.0, site.period.1, site.as_of, last.name, last.what
        ));
    } else {
        records.push(format!("judged from {} to {} as of {}", site.period.0, site.period.1, site.as_of));
    }
    ReadBack {
        site: facility::sentences(&site.facility),
        permit,
        records,
        sources: site.timeline.sources.iter().map(source).collect(),
    }
}

/// The permit as a whole: whose it is, when it is in force, when its year starts.
fn permit_head(rules: &RulesFile) -> String {
    let holder = rules.holder.as_ref().map_or_else(String::new, |holder| format!(" to {holder}"));
    let in_force = rules.in_force.map_or_else(String::new, |(first, last)| format!(", in force {first} to {last}"));
    let starts = rules.permit_year_starts;
    format!(
        "Permit {} by {}{holder}{in_force}; its year starts on {} {}.",
        rules.permit,
        rules.authority,
        starts.day,
        quantity::month_name(starts.month)
    )
}

/// One source of records: its days, how many lines, its longest gap, its repairs.
pub(super) fn source(source: &SourceSummary) -> String {
    let gap = source
        .gaps
        .iter()
        .max_by_key(|(_, days)| *days)
        .map_or_else(String::new, |(first, days)| format!(", longest gap {days} days from {first}"));
    let repairs = if source.repairs > 0 { format!(", {} repaired", source.repairs) } else { String::new() };
    format!("{}: {} to {}, {} lines{gap}{repairs}", source.name, source.first, source.last, source.count)
}

/// Calls, letters and reports that are overdue: each can still be made, and none gets better by waiting.
fn to_write(judged: &Judged) -> Vec<String> {
    let overdue = |finding: &&Finding| finding.kind == FindingKind::Notice && finding.outcome == Outcome::Overdue;
    let mut findings: Vec<&Finding> = judged.findings.iter().filter(overdue).collect();
    findings.sort_by_key(|finding| finding.due);
    findings.into_iter().map(|finding| format!("{}: {}", finding.name, finding.what_is_missing())).collect()
}

/// What is still open beside the worklist: limits of which nothing is shown, lines that say `not known`, and lines of the
/// starter that nobody has changed.
pub fn still_open(site: &Site, judged: &Judged) -> Vec<String> {
    let mut open = Vec::new();
    if site.rules.is_none() {
        open.push("no rules are read, so the site is held against no limit".to_owned());
    }
    let listed = |name: &str| judged.worklist.iter().any(|(what, _)| what == name);
    let mut lacking: Vec<(String, String)> = Vec::new();
    for finding in judged.findings.iter().filter(|finding| {
        finding.kind == FindingKind::Limit
            && matches!(finding.outcome, Outcome::NotShown | Outcome::Undecided)
            && !listed(&finding.name)
    }) {
        let why = finding
            .missing
            .first()
            .map(|missing| &missing.sentence)
            .or_else(|| finding.sentences.first())
            .map_or_else(String::new, |why| format!(". {why}"));
        lacking.push((finding.name.clone(), format!("{}{why}", finding.outcome)));
    }
    open.extend(together(&lacking));
    // Water that went nobody knows where is told to whoever can say where: it stands as unaccounted otherwise.
    let no_outlet = crate::balance::FindingKind::NoOutlet.words();
    for finding in &judged.findings {
        if finding.kind == FindingKind::Facility && finding.name.ends_with(no_outlet) {
            open.push(finding.sentences.join(" "));
        }
    }
    let listed = judged.worklist.iter().any(|(_, effect)| effect.starts_with("not known"));
    if !listed {
        lines_that(site, &mut open, "a value that is `not known`", &|line| {
            let said = line.split(" #").next().unwrap_or_default();
            !said.trim_start().starts_with('#') && said.contains(": not known")
        });
    }
    lines_that(site, &mut open, "`change me`: put this site's own value there, and strike the words", &|line| {
        line.contains("change me")
    });
    open
}

/// One sentence for each YAML file with such lines: how many, and where the first is.
fn lines_that(site: &Site, open: &mut Vec<String>, what: &str, is_one: &dyn Fn(&str) -> bool) {
    let mut names: Vec<_> = site
        .sources
        .files_read()
        .into_iter()
        .map(|file| file.name)
        .filter(|name| name.ends_with(".yaml") || name.ends_with(".yml"))
        .collect();
    names.sort();
    names.dedup();
    for name in names {
        let lines = (1..).map_while(|number| Some((number, site.sources.line(&name, number)?)));
        let found: Vec<u32> = lines.filter(|(_, line)| is_one(line)).map(|(number, _)| number).collect();
        match found.as_slice() {
            [] => {}
            [only] => open.push(format!("{name}:{only} says {what}")),
            [first, ..] => open.push(format!("{name}: {} lines say {what}; the first is line {first}", found.len())),
        }
    }
}

fn sentences(out: &mut String, lines: &[(Place, String)]) {
    for (place, sentence) in lines {
        load::wrapped(out, &format!("{place}  {sentence}"));
    }
}
