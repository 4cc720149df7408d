//! `explain`: one limit with its working, or one place on one day.

use std::fmt::Write as _;

use chrono::NaiveDate;

use crate::balance::Node;
use crate::cli::judged;
use crate::cli::judged::Judged;
use crate::cli::load;
use crate::cli::load::{Site, SiteArgs};
use crate::cli::{Done, Stop};
use crate::page::document::figures;
use crate::quantity;
use crate::report::inspection::about::day;
use crate::report::inspection::json;
use crate::report::units;
use crate::rules::Finding;

/// What `explain` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(
    before_help = "Examples:\n    bywash explain demo-facility \"TSS, month average\"\n    bywash explain demo-facility \"Settling pond\" --on 2025-03-14"
)]
pub struct Args {
    /// The site and the period.
    #[command(flatten)]
    pub site: SiteArgs,
    /// A limit, a duty or a place, by its name
    #[arg(value_name = "NAME")]
    pub name: String,
    /// The day; needed for a place
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
    /// As JSON
    #[arg(long)]
    pub json: bool,
    /// Draws behind predicted outcomes
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = load::draws())]
    pub draws: u32,
}

/// Explains.
///
/// # Errors
/// When there is nothing of that name, or the day is not in the period.
pub fn run(args: &Args) -> Done {
    let site = load::site(&args.site)?;
    let on = match &args.on {
        None => None,
        Some(text) => Some(quantity::date(text).map_err(|wrong| Stop::Could(format!("--on: {}", wrong.message)))?),
    };
    let judged = judged::judge(&site, args.draws)?;
    if let Some(finding) = find(&judged.findings, &args.name) {
        let text = if args.json { pretty(&json::finding(finding))? } else { limit(finding, on) };
        return load::words_to_stdout(&text);
    }
    if let Some(id) = site.facility.find(&args.name) {
        let Some(date) = on else {
            return Err(Stop::Could(format!("`{}` is a place: say which day, with --on 2025-03-14", args.name)));
        };
        let text = place(&site, &judged, Node::Place(id), date, args.json)?;
        return load::words_to_stdout(&text);
    }
    let names: Vec<&str> = judged
        .findings
        .iter()
        .map(|finding| finding.name.as_str())
        .chain(site.facility.places.iter().map(|place| place.name.as_str()))
        .collect();
    let hint = match quantity::nearest(&args.name, names.iter().copied()) {
        Some(near) => format!("; did you mean `{near}`?"),
        None => format!("; there are: {}", names.join(", ")),
    };
    Err(Stop::Could(format!("there is no limit, duty or place `{}`{hint}", args.name)))
}

fn find<'a>(findings: &'a [Finding], name: &str) -> Option<&'a Finding> {
    let same = |a: &str| a.trim().eq_ignore_ascii_case(name.trim());
    findings.iter().find(|finding| same(&finding.name)).or_else(|| findings.iter().find(|finding| same(&finding.id)))
}

fn pretty(value: &serde_json::Value) -> Result<String, Stop> {
    Ok(serde_json::to_string_pretty(value)? + "\n")
}

/// A limit in words: the permit's, the outcome, each window with its arithmetic and evidence, what is missing.
fn limit(finding: &Finding, on: Option<NaiveDate>) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}  {}", finding.name, finding.outcome);
    if let Some(place) = &finding.place {
        let _ = writeln!(out, "  typed at {place}, holds at {}", finding.at);
    }
    if let Some(words) = &finding.words {
        load::wrapped(&mut out, &format!("the permit's words: “{}”", words.trim()));
    }
    if let Some(limit) = &finding.limit {
        load::wrapped(&mut out, &format!("limit: {}", limit.text));
    }
    if let Some(figure) = &finding.figure {
        let when = finding.worst_when.as_deref().unwrap_or("");
        load::wrapped(&mut out, &format!("worst: {} {when}", figure.text));
    }
    if let Some(margin) = &finding.margin {
        load::wrapped(&mut out, &format!("margin: {margin}"));
    }
    if !finding.how_many.is_empty() {
        load::wrapped(&mut out, &format!("how many: {}", finding.how_many));
    }
    if let Some(share) = finding.share_outside {
        load::wrapped(&mut out, &format!("draws outside the limit: {:.0} %", 100.0 * share));
    }
    for sentence in finding.sentences.iter().chain(&finding.likelihood) {
        load::wrapped(&mut out, sentence);
    }
    if let Some((turns_on, outcome)) = &finding.other_answer {
        load::wrapped(&mut out, &format!("the permit does not say {turns_on}; the other way it would be {outcome}"));
    }
    for window in &finding.windows {
        if on.is_some_and(|on| on < window.from || window.to < on) {
            continue;
        }
        let figure = window.figure.as_ref().map_or("no figure", |figure| &figure.text);
        let _ = writeln!(out, "\n  {}  {}  {figure}", window.label, window.outcome);
        for line in &window.arithmetic {
            let _ = writeln!(out, "    {line}");
        }
        for evidence in &window.evidence {
            let place = evidence.place.as_ref().map_or_else(String::new, |place| format!("  {place}"));
            let paper = evidence.paper.as_ref().map_or_else(String::new, |paper| format!("  ({paper})"));
            let _ = writeln!(out, "    {}  {}{place}{paper}", evidence.day, evidence.text);
        }
        for missing in &window.missing {
            load::wrapped(&mut out, &format!("missing: {}", missing.sentence));
        }
    }
    if finding.windows.is_empty() {
        for evidence in &finding.evidence {
            let place = evidence.place.as_ref().map_or_else(String::new, |place| format!("  {place}"));
            let _ = writeln!(out, "    {}  {}{place}", evidence.day, evidence.text);
        }
    }
    if !finding.missing.is_empty() {
        out.push_str("\n  What is missing, and what would change the outcome\n");
        for missing in &finding.missing {
            let show = missing.would_show.as_deref().unwrap_or("It cannot be made up.");
            load::wrapped(&mut out, &format!("{} {show}", missing.sentence));
        }
    }
    out
}

/// Where a place's water and solids came from and went on a day.
fn place(site: &Site, judged: &Judged, node: Node, date: NaiveDate, as_json: bool) -> Result<String, Stop> {
    let ledger = &judged.run.ledger;
    let Some(index) = ledger.day_of(date) else {
        return Err(Stop::Could(format!(
            "{} is not in the period {} to {}",
            day(date),
            day(site.period.0),
            day(site.period.1)
        )));
    };
    let trace = ledger.trace(node, index);
    if as_json {
        let lines: Vec<serde_json::Value> = trace
            .lines
            .iter()
            .map(|line| {
                serde_json::json!({
                    "from": ledger.label(line.way.from),
                    "to": ledger.label(line.way.to),
                    "purpose": line.way.purpose.words(),
                    "water_m3": line.water_m3,
                    "water_basis": line.water_basis.to_string(),
                    "solids_kg": line.solids_kg,
                    "solids_basis": line.solids_basis.to_string(),
                })
            })
            .collect();
        return pretty(&serde_json::json!({
            "place": ledger.label(node),
            "date": date.to_string(),
            "opening_m3": trace.opening_m3,
            "closing_m3": trace.closing_m3,
            "opening_kg": trace.opening_kg,
            "closing_kg": trace.closing_kg,
            "entries": lines,
        }));
    }
    let (volume, mass) = (units::volume(site.facility.system), units::mass(site.facility.system));
    let mut out = String::new();
    let _ = writeln!(out, "{} on {}", ledger.label(node), day(date));
    let amounts = |water: f64, solids: f64| {
        format!(
            "{:>14} {}  {:>10} {} solids",
            figures::number(volume.of(water), volume.digits),
            volume.name,
            figures::number(mass.of(solids), 1),
            mass.name
        )
    };
    let _ = writeln!(out, "  held at the start  {}", amounts(trace.opening_m3, trace.opening_kg));
    for line in &trace.lines {
        let (word, other) = if line.comes_in { ("from", line.way.from) } else { ("to  ", line.way.to) };
        let _ = writeln!(
            out,
            "  {word} {:<28} {}  {}, {}",
            ledger.label(other),
            amounts(line.water_m3, line.solids_kg),
            line.way.purpose.words(),
            line.water_basis
        );
    }
    let _ = writeln!(out, "  held at the end    {}", amounts(trace.closing_m3, trace.closing_kg));
    Ok(out)
}
