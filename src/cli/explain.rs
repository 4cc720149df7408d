//! `explain`: one limit with its working, one place on one day, or what a name stands for.

mod named;

use std::fmt::Write as _;

use chrono::NaiveDate;

use crate::balance::Node;
use crate::cli::explain::named::Subject;
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
use crate::rules::{Finding, TOO_LATE};

/// What `explain` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(
    before_help = "Examples:\n    bywash explain demo-facility \"TSS, month average\"\n    bywash explain demo-facility \"Settling pond\" --on 2025-03-14"
)]
pub struct Args {
    /// The site and the period.
    #[command(flatten)]
    pub site: SiteArgs,
    /// A limit, duty, place, meter, parameter, statistic or method, by its name or a part of it
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
    let (name, subject) = named::find(&named::all(&site, &judged), &args.name).map_err(Stop::Could)?;
    let text = match subject {
        Subject::Finding(finding) if args.json => pretty(&json::finding(finding))?,
        Subject::Finding(finding) => limit(finding, on),
        Subject::Place(id) => match on {
            Some(date) => place(&site, &judged, Node::Place(id), date, args.json)?,
            None => return Err(Stop::Could(format!("`{name}` is a place: say which day, with --on 2025-03-14"))),
        },
        _ if args.json => return Err(Stop::Could(format!("`{name}` is no limit, duty or place, and has no JSON"))),
        Subject::Meter(meter) => named::meter(&site, meter),
        Subject::Parameter => named::parameter(&site, &judged, &name),
        Subject::Statistic(statistic) => named::statistic(statistic),
        Subject::Method(method) => named::method(method),
    };
    load::words_to_stdout(&text)
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
            let show = missing.would_show.as_deref().unwrap_or(TOO_LATE);
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
