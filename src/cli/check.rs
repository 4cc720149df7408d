//! `check`: every problem, then the site read back, the record sources, and what to find out next.

use crate::cli::Done;
use crate::cli::load::SiteArgs;
use crate::cli::{compare, judged, load, size};
use crate::diagnostic::Place;
use crate::{facility, rules};

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

/// Checks a site.
///
/// # Errors
/// When there is a problem that is an error.
pub fn run(args: &Args) -> Done {
    let directory = &args.site.dir;
    let site = load::site_and(&args.site, &|facility, sources, problems| {
        // Where there is no site at all, that alone is told.
        if sources.exists(facility::FACILITY_FILE) {
            compare::tell_problems(directory, facility, sources, problems);
            size::tell_problems(directory, sources, problems);
        }
    })?;
    load::tell(&site.problems, &site.sources);
    if args.quiet {
        return Ok(());
    }
    let mut out = String::new();
    out.push_str("What is on the site, read back\n");
    sentences(&mut out, &facility::sentences(&site.facility));
    if let Some(rules) = &site.rules {
        out.push_str("\nWhat the permit says, read back\n");
        sentences(&mut out, &rules::sentences(rules));
    }
    out.push_str("\nRecords\n");
    if site.timeline.sources.is_empty() {
        out.push_str("  none: nothing will be compared with this site\n");
    }
    for source in &site.timeline.sources {
        let gap = source
            .gaps
            .iter()
            .max_by_key(|(_, days)| *days)
            .map_or_else(String::new, |(first, days)| {
                format!(", longest gap {days} days from {first}")
            });
        let repairs = if source.repairs > 0 {
            format!(", {} repaired", source.repairs)
        } else {
            String::new()
        };
        load::wrapped(
            &mut out,
            &format!(
                "{}: {} to {}, {} lines{gap}{repairs}",
                source.name, source.first, source.last, source.count
            ),
        );
    }
    for repair in &site.timeline.repairs {
        load::wrapped(&mut out, &format!("{}: {}", repair.place, repair.sentence));
    }
    let judged = judged::judge(&site, 50)?;
    out.push_str("\nWhat to find out next, the most useful first\n");
    if judged.worklist.is_empty() {
        out.push_str("  nothing: every value is typed, and no outcome turns on a range\n");
    }
    for (what, effect) in &judged.worklist {
        load::wrapped(&mut out, &format!("{what}: {effect}"));
    }
    load::to_stdout(out.as_bytes())?;
    Ok(())
}

fn sentences(out: &mut String, lines: &[(Place, String)]) {
    for (place, sentence) in lines {
        load::wrapped(out, &format!("{place}  {sentence}"));
    }
}
