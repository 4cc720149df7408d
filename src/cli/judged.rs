//! A site's run held against its rules: findings, assumptions, what to find out next.

use std::sync::{Mutex, PoisonError};

use crate::balance;
use crate::balance::{DailySeries, Draw, Run, Watch};
use crate::cli::Stop;
use crate::cli::load;
use crate::cli::load::Site;
use crate::cli::worklist;
use crate::compare::{Against, against_log, without_driving_records};
use crate::files::{FileRead, fingerprint};
use crate::report::inspection::about::{Assumption, Case, PermitHead, day, large_volume, trace};
use crate::report::inspection::rows::Rows;
use crate::rules;
use crate::rules::{Drawn, Finding, FindingKind, LimitPlan, Outcome, RulesFile};

/// The seed of every ensemble of the report: the same inputs give the same draws.
pub const SEED: u64 = 1;

/// The run and what was found.
#[derive(Debug)]
pub struct Judged {
    /// The single run.
    pub run: Run,
    /// Findings, worst first.
    pub findings: Vec<Finding>,
    /// The head of the permit.
    pub permit: Option<PermitHead>,
    /// What was taken without a record.
    pub assumptions: Vec<Assumption>,
    /// The files read.
    pub files: Vec<FileRead>,
    /// The records by where they stand.
    pub rows: Rows,
    /// SHA-256 over all of them.
    pub digest: String,
    /// Draws behind predictions.
    pub draws: usize,
    /// Warnings in words.
    pub warnings: Vec<String>,
    /// What to find out next.
    pub worklist: Vec<(String, String)>,
}

/// How each limit came out in each draw.
#[derive(Debug)]
pub struct Members {
    /// The limits' findings, by id, in order of the plans.
    ids: Vec<String>,
    /// For each member, each plan.
    drawn: Vec<Vec<Drawn>>,
}

impl Members {
    /// How the limit of a plan came out in each draw.
    fn of_plan(&self, at: usize) -> Vec<Drawn> {
        self.drawn.iter().filter_map(|member| member.get(at).cloned()).collect()
    }

    /// The worst figure of a limit in each draw; none where there is no such limit or a draw has no figure.
    pub fn figures(&self, id: &str) -> Option<Vec<f64>> {
        let at = self.ids.iter().position(|known| known == id)?;
        self.drawn.iter().map(|member| member.get(at).and_then(|drawn| drawn.worst)).collect()
    }
}

/// Runs a site and holds it against its rules.
///
/// # Errors
/// When the ledger can't be computed or does not close.
pub fn judge(site: &Site, draws: u32) -> Result<Judged, Stop> {
    judge_beside(site, draws, || ()).map(|(judged, ())| judged)
}

/// The same, and everything on file held against a run that was not driven by it: [`against`].
///
/// # Errors
/// As [`judge`].
pub fn judge_and_against(site: &Site, draws: u32) -> Result<(Judged, Vec<Against>), Stop> {
    judge_beside(site, draws, || against(site))
}

/// Judges a site's run while something else is worked out.
fn judge_beside<T: Send>(site: &Site, draws: u32, beside: impl FnOnce() -> T + Send) -> Result<(Judged, T), Stop> {
    let run = load::run(site)?;
    let ((mut findings, members), beside) = rayon::join(|| of_limits(site, &run, draws), beside);
    findings.extend(run.findings.iter().map(|finding| about_facility(site, &run, finding)));
    let files = site.sources.files_read();
    let judged = Judged {
        permit: site.rules.as_ref().map(permit_head),
        assumptions: run.assumptions.iter().map(assumption).collect(),
        digest: fingerprint(&files),
        files,
        rows: Rows::of(&site.timeline),
        draws: members.as_ref().map_or(0, |members| members.drawn.len()),
        warnings: site.problems.in_order().iter().map(|problem| problem.to_string_line()).collect(),
        worklist: worklist::worklist(&run, &findings, members.as_ref()),
        findings,
        run,
    };
    Ok((judged, beside))
}

/// The findings of a site's rules, and how limits came out in draws where some turn on them.
fn of_limits(site: &Site, run: &Run, draws: u32) -> (Vec<Finding>, Option<Members>) {
    let mut findings = Vec::new();
    let mut members = None;
    if let Some(rules) = &site.rules {
        // First without draws, to see which limits turn on them.
        let asked = Mutex::new(Vec::new());
        let asks = |plan: &LimitPlan| {
            asked.lock().unwrap_or_else(PoisonError::into_inner).push(plan.index);
            Vec::new()
        };
        let mut case = rules::Case {
            facility: &site.facility,
            rules,
            timeline: &site.timeline,
            weather: Some(&site.weather),
            ledger: Some(&run.ledger),
            period: site.period,
            as_of: site.as_of,
            predict: &asks,
        };
        let mut limits = rules::Limits::judged(&case);
        let mut asked = asked.lock().map(|asked| asked.clone()).unwrap_or_default();
        asked.sort_unstable();
        asked.dedup();
        case.predict = &|_| Vec::new();
        if draws > 0 && !asked.is_empty() {
            let mut plans = rules::plans(rules, &site.facility, &site.timeline, Some(&site.weather), site.period);
            plans.retain(|plan| asked.contains(&plan.index));
            let drawn = ensemble(site, &plans, draws);
            let of_plan = |plan: &LimitPlan| {
                let at = plans.iter().position(|known| known.index == plan.index);
                at.map_or_else(Vec::new, |at| drawn.of_plan(at))
            };
            limits.judge_again(&rules::Case { predict: &of_plan, ..case }, &asked);
            members = Some(drawn);
        }
        findings = limits.findings(&case);
    }
    (findings, members)
}

/// Everything on file held against a run that was not driven by it. Nothing where that run can't be made: the one with
/// records tells why.
pub fn against(site: &Site) -> Vec<Against> {
    let free = without_driving_records(&site.timeline);
    let (since, weather) = match &site.before {
        Some((since, weather)) => (*since, weather),
        None => (site.period.0, &site.weather),
    };
    balance::run_since(&site.facility, weather, &free, since, site.period, &Draw::MIDDLE)
        .map_or_else(|_| Vec::new(), |run| against_log(&site.facility, &site.timeline, &run.ledger, site.period))
}

/// Each plan evaluated in each draw. A draw that can't be run (which the single run would have told) gives none.
fn ensemble(site: &Site, plans: &[LimitPlan], draws: u32) -> Members {
    let mut watches: Vec<Watch> = Vec::new();
    let mut places: Vec<Vec<usize>> = Vec::new();
    for plan in plans {
        let mut of_plan = Vec::new();
        for watch in &plan.watches {
            let at = match watches.iter().position(|known| known == watch) {
                Some(at) => at,
                None => {
                    watches.push(watch.clone());
                    watches.len() - 1
                }
            };
            of_plan.push(at);
        }
        places.push(of_plan);
    }
    // Each member runs the days before the period too; plans look at the period's days alone.
    let (weather, days) = match &site.before {
        Some((since, weather)) => (weather, (*since, site.period.1)),
        None => (&site.weather, site.period),
    };
    let drawn = balance::ensemble(
        &site.facility,
        weather,
        &site.timeline,
        days,
        SEED,
        0..u64::from(draws),
        &watches,
        |_, series| {
            plans
                .iter()
                .zip(&places)
                .map(|(plan, places)| {
                    let own: Vec<&DailySeries> = places.iter().filter_map(|at| series.get(*at)).collect();
                    plan.drawn(&own)
                })
                .collect()
        },
    );
    Members {
        ids: plans.iter().map(|plan| format!("limit / {}", plan.limit.name)).collect(),
        drawn: drawn.map(|ensemble| ensemble.members).unwrap_or_default(),
    }
}

fn permit_head(rules: &RulesFile) -> PermitHead {
    PermitHead {
        authority: rules.authority.clone(),
        permit: rules.permit.clone(),
        file: rules.place.file.to_string(),
        year_starts: rules.permit_year_starts,
        typed_by: rules.typed_by.clone(),
        counts: rules::counting_of_all(rules),
    }
}

fn assumption(of: &balance::Assumption) -> Assumption {
    Assumption {
        what: of.key.clone(),
        value: of.text.clone(),
        place: of.place.as_ref().map_or_else(|| "not typed".to_owned(), trace),
        source: of.source.to_owned(),
    }
}

fn about_facility(site: &Site, run: &Run, found: &balance::FacilityFinding) -> Finding {
    let place = site.facility.get(found.place);
    let name = place.map_or_else(String::new, |place| place.name.clone());
    let dates: Vec<_> = found.days.iter().map(|day| run.ledger.date(*day)).collect();
    let how_many = match (dates.len(), dates.first()) {
        (0, _) | (_, None) => String::new(),
        (1, Some(first)) => day(*first),
        (n, Some(first)) => format!("{n} days, the first {}", day(*first)),
    };
    let kind = found.kind.words();
    let id = format!("facility / {name} / {kind}");
    Finding {
        place: place.map(|place| place.place.clone()),
        how_many,
        n: dates.len(),
        dates,
        sentences: vec![found.sentence.clone()],
        ..Finding::new(id, FindingKind::Facility, format!("{name}: {kind}"), name, Outcome::NotShown)
    }
}

impl Judged {
    /// What a report is made from.
    pub fn case<'a>(&'a self, site: &'a Site, against: &'a [Against]) -> Case<'a> {
        Case {
            facility: &site.facility,
            permit: self.permit.as_ref(),
            limits: site.rules.as_ref().map_or(&[], |rules| &rules.limits),
            timeline: &site.timeline,
            rows: &self.rows,
            weather: &site.weather,
            ledger: &self.run.ledger,
            assumptions: &self.assumptions,
            remarks: &self.run.notes,
            findings: &self.findings,
            period: site.period,
            as_of: site.as_of,
            files: &self.files,
            digest: &self.digest,
            against,
            draws: self.draws,
            warnings: &self.warnings,
            worklist: &self.worklist,
            letterhead: &site.letterhead,
            large: large_volume(&site.facility, &self.run.ledger, site.period),
        }
    }
}
