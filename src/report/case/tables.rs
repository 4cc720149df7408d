//! The case's tables: what each option is, service, water, solids, filters, work, limits.

use crate::compare::{Alternative, Doubt, Hauled, Kind, Line, Predicted, Verdict, What, passed_unfiltered};
use crate::page::document::{Basis, Cell, Column, Document, Row, RowKind, Table, Text, figures};
use crate::report::case::beside::Beside;
use crate::report::case::hours;
use crate::report::case::limits as compare_limits;
use crate::report::case::page::{first_capital, percent};
use crate::report::case::picture::typed_anew;
use crate::report::case::{AS_IS, ComparedCase, digits, middle_run, one_form, shown, three, units};
use crate::report::units::Unit;
use crate::rules::Outcome;

/// How the options are held against one another.
pub fn how_compared(doc: &mut Document) {
    doc.heading(2, "How it is compared");
    doc.paragraph(
        "Every option is computed, the site as it stands too: no reading of a meter, no wash log and no sample drives any of \
         them, so that none is measured at its worst against another reckoned at its best. All see the same rain, and each \
         draw takes the same value for whatever is typed alike in two options.",
    );
}

/// What each option is, and whether all serve alike.
pub fn options(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "What is compared");
    let mut rows = Vec::new();
    for (option, computed) in study_options(case) {
        let of = &computed.alternative;
        let mut words = Vec::new();
        match &of.file {
            None => words.push("The site as facility.yaml has it.".to_owned()),
            Some(file) => words.push(format!("{file}.")),
        }
        for (new, old) in &of.renamed {
            words.push(format!("{new} in place of {old}."));
        }
        let removed: Vec<&str> =
            of.gone.iter().filter(|name| !of.renamed.iter().any(|(_, old)| old == *name)).map(String::as_str).collect();
        if !removed.is_empty() {
            words.push(format!("Gone: {}.", removed.join(", ")));
        }
        if let Some(now) = case.study.options.first().filter(|_| option > 0) {
            words.extend(typed_anew(&now.alternative, of).into_iter().map(|line| format!("{}.", one_form(&line))));
        }
        for paid in &of.pays_once {
            words.push(format!(
                "Bought once: {}, {}, lasts {} years.",
                paid.what,
                one_form(&paid.price.text),
                shown(paid.lasts_years)
            ));
        }
        for paid in &of.pays_regularly {
            words.push(format!("Paid regularly: {}, {}.", paid.what, one_form(&paid.price.text)));
        }
        words.extend(passed_over(of, case));
        // Where it is why the uses are not served alike, it is told there.
        let passed = passed_unfiltered(computed).into_iter();
        let is_told = |words: &String| case.study.not_served(option).iter().any(|why| why.contains(words.as_str()));
        words.extend(passed.filter(|words| !is_told(words)).map(|words| format!("{}.", first_capital(&words))));
        if !of.limits_gone.is_empty() {
            words.push(format!(
                "Limits that apply no longer, as what they speak of is gone: {}.",
                of.limits_gone.join(", ")
            ));
        }
        rows.push((case.name(option).to_owned(), Text::from(words.join(" "))));
    }
    doc.definitions(rows);
    doc.paragraph(served_alike(case));
}

/// `Passes over from Sand beds to New beds: Booster, Bed service.`, for each successor.
fn passed_over(of: &Alternative, case: &ComparedCase<'_>) -> Vec<String> {
    let all = of.passed_over(&case.study.prices).into_iter();
    all.map(|(new, old, lines)| format!("Passes over from {old} to {new}: {}.", lines.join(", "))).collect()
}

/// What passes over to a filter of the same kind, in the annex.
pub fn all_passed_over(case: &ComparedCase<'_>, doc: &mut Document) {
    let told: Vec<String> = study_options(case)
        .flat_map(|(option, of)| {
            let name = case.short(option);
            passed_over(&of.alternative, case).into_iter().map(move |words| format!("{name}: {words}"))
        })
        .collect();
    if !told.is_empty() {
        doc.paragraph(format!(
            "What prices.yaml says of the pump, the renewals and what is paid regularly of a place passes over to one of the same kind \
             in its stead, unless a line of that sort is typed for this one. {}",
            told.join(" ")
        ));
    }
}

/// Whether every option serves the uses alike, in a sentence.
fn served_alike(case: &ComparedCase<'_>) -> Text {
    let within = shown(case.study.prices.service.within * 100.0);
    let differing = case.study.service.iter().filter(|served| !served.differences.is_empty());
    let apart: Vec<String> = differing.map(|served| case.short(served.option)).collect();
    let unknown =
        case.study.service.iter().filter(|served| !served.unknown.is_empty() && served.differences.is_empty());
    // What has a verdict all the same does not have it told there.
    let is_told = |option: usize| matches!(case.study.verdict(option, 0).in_money(), Verdict::None(_));
    let unknown: Vec<String> = unknown
        .map(|served| match is_told(served.option) {
            true => case.short(served.option),
            false => format!("{} ({})", case.short(served.option), served.unknown.join("; ")),
        })
        .collect();
    let lines = case.study.service.iter().any(|served| !served.lines.is_empty());
    match (apart.is_empty() && unknown.is_empty(), lines) {
        (_, false) => Text::from("There is no use to serve."),
        (true, true) => Text::new().bold("All of them serve the uses alike").plain(format!(
            ": the year's water to each use and its largest day within {within} % in every draw{}.",
            match case.study.prices.service.target_m {
                Some(_) => format!(
                    ", and what is coarser than {} in it",
                    case.study.prices.service.target_text.replace("um", "µm")
                ),
                None => String::new(),
            }
        )),
        (false, true) => {
            let words = [("Not served alike by", apart), ("Not known whether alike by", unknown)];
            let told = words.into_iter().filter(|(_, of)| !of.is_empty());
            let told: Vec<String> = told.map(|(words, of)| format!("{words} {}", of.join(", "))).collect();
            Text::new().bold(told.join("; ")).plain(format!(
                ": “The answer” on page 1 says why.{}{}",
                runs_out(case),
                test_solids(case)
            ))
        }
    }
}

pub(super) fn study_options<'a>(
    case: &ComparedCase<'a>,
) -> impl Iterator<Item = (usize, &'a crate::compare::Computed)> + use<'a> {
    case.study.options.iter().enumerate()
}

/// A head for each option, after other columns.
fn headed(case: &ComparedCase<'_>, mut columns: Vec<Column>) -> Vec<Column> {
    columns.extend(case.options().map(|option| Column::words(case.short(option))));
    columns
}

/// Equal service.
pub fn service(case: &ComparedCase<'_>, doc: &mut Document) {
    let rule = &case.study.prices.service;
    doc.heading(2, "Do all of them serve the uses alike?");
    doc.paragraph(format!(
        "A proposal that gives less is no saving. Taken as alike: the year's water to each use and its largest day within \
         {} %, in every draw{}. What differs more is told on page 1, and is a no.",
        shown(rule.within * 100.0),
        match rule.target_m {
            Some(_) => format!(
                "; solids coarser than {} in that water within {} mg/L, in the middle of the ranges",
                one_form(&rule.target_text),
                shown(rule.most_kg_m3 * 1000.0)
            ),
            None => String::new(),
        }
    ));
    let water = units(case).water;
    let columns = headed(case, vec![Column::words("Use"), Column::words("What")]);
    let mut table = Table::new(columns).caption("Service of each use").wide();
    let mut lines: Vec<&Line> = Vec::new();
    for line in case.study.service.iter().flat_map(|served| &served.lines) {
        if !lines.iter().any(|known| known.name == line.name && known.what == line.what) {
            lines.push(line);
        }
    }
    lines.sort_by_key(|line| line.what == What::Test);
    let tested = lines.iter().any(|line| line.what == What::Test);
    for line in lines {
        let (words, of): (String, Box<dyn Fn(f64) -> String>) = match line.what {
            What::Water => (format!("water a year, {}", water.name), Box::new(move |v| shown(water.of(v)))),
            What::Peak => (format!("largest day, {}", water.name), Box::new(move |v| shown(water.of(v)))),
            What::Coarse => (
                format!("coarser than {}, mg/L", one_form(&rule.target_text)),
                Box::new(|v| figures::number(v * 1000.0, 2)),
            ),
            What::Test => (
                format!("comes through of test solids, {}, mg/L", rule.test_text),
                Box::new(|v| figures::number(v * 1000.0, 2)),
            ),
        };
        let is_test = line.what == What::Test;
        let before = if is_test { "–".to_owned() } else { of(line.before) };
        let mut cells = vec![Cell::words(line.name.clone()), Cell::words(words), Cell::words(before)];
        for served in &case.study.service {
            let other = served.lines.iter().find(|other| other.name == line.name && other.what == line.what);
            cells.push(Cell::words(match other {
                // Of each option it is another size, so what comes through as it stands is told with it.
                None if is_test => "no more of any size".to_owned(),
                Some(other) if is_test => {
                    let words = format!(
                        "{} of {} µm, {} as it stands",
                        of(other.after),
                        shown(other.size_m * 1e6),
                        of(other.before)
                    );
                    if other.alike { words } else { format!("{words}: not alike") }
                }
                None => "not served".to_owned(),
                Some(other) if other.alike => of(other.after),
                Some(other) => format!("{}: not alike", of(other.after)),
            }));
        }
        table.row(cells);
    }
    if tested {
        table.note(format!(
            "Test solids ({} in prices.yaml): so much of each size coarser than {} in front of the filters. Of each option the size of which it \
             lets most more through than the site does; sizes are the middles of the classes that the solids are followed by.",
            rule.test_text, one_form(&rule.target_text)
        ));
    }
    doc.table(table);
}

/// What a filter that ran out has to do with whole days; empty where none did.
fn runs_out(case: &ComparedCase<'_>) -> &'static str {
    let any = case.study.options.iter().any(|of| !passed_unfiltered(of).is_empty());
    match any {
        true => {
            " What runs out is put in anew when its day is over, as the computation goes by days: with somebody there in time, less would pass."
        }
        false => "",
    }
}

/// What test solids are, where some option differs by them.
fn test_solids(case: &ComparedCase<'_>) -> String {
    let rule = &case.study.prices.service;
    let apart = case.study.service.iter().filter(|served| !served.differences.is_empty());
    if !apart.flat_map(|served| &served.lines).any(|line| line.what == What::Test) {
        return String::new();
    }
    format!(
        " Test solids are typed in prices.yaml: {} of each size coarser than {}, as if they stood in front of the filters; told is the size of which \
         an option lets most more through than the site does (all options: annex).",
        rule.test_text,
        one_form(&rule.target_text)
    )
}

/// Ids of a kind over all options, with the name under which they print.
fn ids(case: &ComparedCase<'_>, kind: Kind) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = Vec::new();
    for of in &case.study.options {
        for quantity in of.quantities.list.iter().filter(|q| q.kind == kind) {
            if !out.iter().any(|(id, _)| *id == quantity.id) {
                out.push((quantity.id.clone(), quantity.name.clone()));
            }
        }
    }
    out
}

/// The single run's figure of an id in each option.
fn singles(case: &ComparedCase<'_>, kind: Kind, id: &str) -> Vec<Option<f64>> {
    case.options()
        .map(|option| {
            let paired = case.study.paired(option, kind);
            match paired.iter().find(|of| of.id == id) {
                None => Some(0.0),
                Some(of) if of.missing.is_some() => None,
                Some(of) => of.values.first().copied(),
            }
        })
        .collect()
}

pub(super) fn figure(value: Option<f64>, unit: Unit) -> Cell {
    match value {
        None => Cell::words("not shown"),
        Some(value) => {
            let value = unit.of(value);
            Cell::figure(three(value), digits(three(value)).min(1), Basis::Computed)
        }
    }
}

fn number_columns(case: &ComparedCase<'_>, first: &str, unit: &str) -> Vec<Column> {
    let mut columns = vec![Column::words(first)];
    for option in case.options() {
        columns.push(Column::figures(case.short(option), unit));
    }
    columns
}

fn account(
    case: &ComparedCase<'_>,
    doc: &mut Document,
    what: &str,
    unit: Unit,
    kinds: (Kind, Kind, Kind),
    residual: Option<String>,
) {
    let mut table = Table::new(number_columns(case, "", unit.name))
        .caption(format!("{what} by where it comes from and ends, a year, one run in the middle of every range"))
        .wide();
    for (words, kind, sum_words) in
        [("Came in", kinds.0, "All that came in"), ("Went out or stayed", kinds.1, "All that went out or stayed")]
    {
        table.group(words);
        let mut totals = vec![Some(0.0); case.study.options.len()];
        let mut lines: Vec<(String, Vec<Option<f64>>)> =
            ids(case, kind).into_iter().map(|(id, name)| (name, singles(case, kind, &id))).collect();
        if kind == kinds.1 {
            for (id, name) in ids(case, kinds.2) {
                lines.push((name, singles(case, kinds.2, &id)));
            }
        }
        for (name, values) in lines {
            for (total, value) in totals.iter_mut().zip(&values) {
                *total = total.zip(*value).map(|(a, b)| a + b);
            }
            if values.iter().all(|v| *v == Some(0.0)) {
                continue;
            }
            let mut cells = vec![Cell::words(first_capital(&name))];
            cells.extend(values.into_iter().map(|value| figure(value, unit)));
            table.row(cells);
        }
        let mut cells = vec![Cell::words(sum_words)];
        cells.extend(totals.into_iter().map(|value| figure(value, unit)));
        match (&residual, kind == kinds.1) {
            (Some(residual), true) => {
                table.rows.push(Row::new(cells).kind(RowKind::Closed { residual: residual.clone() }));
            }
            _ => {
                table.sum(cells);
            }
        }
    }
    doc.table(table);
}

/// The largest residual over the options in words, as each ledger was checked.
fn residual(case: &ComparedCase<'_>) -> Option<String> {
    let mut worst = 0.0_f64;
    for of in &case.study.options {
        worst = worst.max(of.run.ledger.residuals().of_water?.amount.abs());
    }
    let unit = crate::report::units::volume(case.system());
    Some(format!("largest residual {}", figures::with_unit(unit.of(worst), 1, unit.name)))
}

/// Water and solids of every option by where they end, in full.
pub fn accounts(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Water and solids, by where they end");
    if !middle_run(case).is_empty() {
        doc.paragraph(middle_run(case).trim_start());
    }
    account(case, doc, "Water", units(case).water, (Kind::CameIn, Kind::WentOut, Kind::Fuller), residual(case));
    account(case, doc, "Dry solids", units(case).mass, (Kind::SolidsIn, Kind::SolidsOut, Kind::SolidsHeld), None);
}

/// A difference of less than this share of all that came in is none.
const PART: f64 = 0.001;

/// Where solids end otherwise; and whether water does.
pub fn solids(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Where water and solids end");
    let units = units(case);
    for (what, unit, kinds) in [
        ("Water", units.water, [Kind::CameIn, Kind::WentOut, Kind::Fuller]),
        ("Dry solids", units.mass, [Kind::SolidsIn, Kind::SolidsOut, Kind::SolidsHeld]),
    ] {
        let came_in = case.study.total(0, kinds[0]);
        let all = came_in.spread().map_or(0.0, |of| unit.of(of.median));
        let mut rows = Beside::new(case, PART * all);
        for kind in kinds {
            for (id, name) in ids(case, kind) {
                rows.paired(first_capital(&name), unit, |option| {
                    case.study.paired(option, kind).into_iter().filter(|of| of.id == id).collect()
                });
            }
        }
        let (table, notes) = rows.table(what, format!("{what}, {} a year", unit.name));
        match table {
            Some(mut table) => {
                table.note("Where the options differ by a thousandth of all that came in, or more. The median of the draws, in brackets where nine in ten lie; the annex has every line.");
                table.notes.extend(notes.into_iter().filter(|note| note.starts_with("Not compared")).map(Text::from));
                doc.table(table);
            }
            None if all > 0.0 => {
                doc.paragraph(format!(
                    "{what}: where it comes from and where it ends, the same in every option within a thousandth of the {} that came in.",
                    figures::with_unit(three(all), digits(three(all)), unit.name)
                ));
            }
            None => {
                doc.paragraph(format!("{what}: not compared. {}", notes.join(" ")));
            }
        }
    }
}

/// Whose waste is counted dry, and what makes it wet; none where all is wet.
pub fn counted_dry(hauled: &Hauled) -> Option<String> {
    let apart = if hauled.is_mixed() {
        format!(", that of {} wet: do not hold one against the other", hauled.wet.join(", "))
    } else {
        String::new()
    };
    (!hauled.dry.is_empty()).then(|| {
        format!(
            "The waste of {} is counted dry{apart}. `water when hauled` under `used up` says how wet it is.",
            hauled.dry.join(", ")
        )
    })
}

/// Washes, waste, hours, energy.
pub fn work(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Washes, waste, hours, energy");
    let mass = units(case).mass;
    let study = case.study;
    let mut rows = Beside::new(case, 0.5);
    let mut hauled = Hauled::default();
    case.options().for_each(|option| hauled.add(&study.hauled(option)));
    let waste = match (hauled.dry.is_empty(), hauled.wet.is_empty()) {
        (true, _) => "Wet waste hauled",
        (false, true) => "Waste hauled, dry",
        (false, false) => "Waste hauled, wet or dry",
    };
    for (words, kind, unit) in [
        ("Washes".to_owned(), Kind::Washes, AS_IS),
        ("Bags, cartridges, rolls".to_owned(), Kind::UsedUp, AS_IS),
        (format!("{waste}, {}", mass.name), Kind::WetWaste, mass),
        (format!("Wet sludge gathered, {}", mass.name), Kind::Sludge, mass),
        ("Labour, h".to_owned(), Kind::Labour, AS_IS),
        ("Filters in wash or change, h".to_owned(), Kind::Downtime, AS_IS),
        ("Motors and pumps, kWh".to_owned(), Kind::Energy, AS_IS),
    ] {
        let more = case.options().skip(1).map(|option| study.more(option, 0, kind)).collect();
        rows.line(words, unit, study.known_total(0, kind), more);
    }
    let (table, mut notes) = rows.table("A year", "Washes, waste, hours and energy, a year");
    notes.extend(counted_dry(&hauled));
    notes.extend(hours::typed(case));
    match table {
        Some(mut table) => {
            table.notes.extend(notes.into_iter().map(Text::from));
            doc.table(table);
        }
        None => {
            doc.paragraph(notes.join(" "));
        }
    }
}

/// How the limits come out in each option.
pub fn outcomes(case: &ComparedCase<'_>, doc: &mut Document) {
    let Some(first) = case.study.options.first() else {
        return;
    };
    if first.limits.is_empty() {
        doc.heading(2, "Limits");
        doc.paragraph("There is no rules file, so no option was held against a limit.");
        return;
    }
    doc.heading(2, "How the permit’s limits would come out");
    let mut table = Table::new(vec![
        Column::words("Limit"),
        Column::words("Inspection report"),
        Column::words("Computed, as it stands"),
        Column::words("Worst figure"),
        Column::words("Otherwise with"),
    ])
    .caption("Limits: in the inspection report, and computed without meters and logs")
    .wide();
    let mut none: Vec<(String, String)> = Vec::new();
    for limit in &first.limits {
        let name = match limit.bound.as_str() {
            "" => limit.name.clone(),
            bound => format!("{}: {}", limit.name, one_form(bound)),
        };
        let of: Vec<Option<&Predicted>> =
            case.study.options.iter().map(|of| of.limits.iter().find(|other| other.name == limit.name)).collect();
        if of.iter().flatten().all(|of| of.outcome.is_none()) {
            none.push((limit.name.clone(), limit.figure.clone()));
            continue;
        }
        let recorded = case.recorded.iter().find(|of| of.limit == limit.name);
        let now = outcome_words(case, Some(limit));
        let figure = match compare_limits::by_the_samples(case, limit) {
            Some(words) => format!("{}; {words}", one_form(&limit.figure)),
            None => one_form(&limit.figure),
        };
        let mut otherwise: Vec<(String, Vec<String>)> = Vec::new();
        for (option, of) in of.iter().enumerate().skip(1) {
            let words = match (of, outcome_words(case, *of)) {
                (Some(of), words) if words == now && middle(&of.figure) == middle(&limit.figure) => continue,
                (Some(of), words) if words == now => middle(&of.figure),
                (Some(of), words) => format!("{words}, {}", middle(&of.figure)),
                (None, _) if is_asked(case, option, &limit.name) => "not judged".to_owned(),
                (None, words) => words,
            };
            match otherwise.iter_mut().find(|(known, _)| *known == words) {
                Some((_, options)) => options.push(case.short(option)),
                None => otherwise.push((words, vec![case.short(option)])),
            }
        }
        let otherwise: Vec<String> =
            otherwise.into_iter().map(|(words, options)| format!("{}: {words}", options.join(", "))).collect();
        table.row(vec![
            Cell::words(name),
            Cell::words(recorded.map_or("–", |of| of.outcome.words())),
            Cell::known(now, Basis::Computed),
            Cell::known(figure, Basis::Computed),
            Cell::words(otherwise.join("; ")),
        ]);
    }
    table.note(
        "“Predicted within” and “predicted outside” mean that all draws looked at agree. The worst figure of the period: half of \
         the draws have no more, and in brackets are the least and the most of it over the draws. Nothing under “otherwise”: every option comes \
         out so. A limit is told as kept only where it is so at the most that samples and logs at its point have beside what is computed \
         there, as many times or as much more; else it is undecided by them, as it is where the inspection report has it the other way. “Within as computed”: so few samples are \
         on file that nothing shows it.",
    );
    if let Some(words) = compare_limits::of_one_day(case) {
        table.note(words);
    }
    if !none.is_empty() {
        let mut told: Vec<(String, Vec<String>)> = Vec::new();
        for (name, why) in none {
            match told.iter_mut().find(|(known, _)| *known == why) {
                Some((_, names)) => names.push(name),
                None => told.push((why, vec![name])),
            }
        }
        let told: Vec<String> = told.into_iter().map(|(why, names)| format!("{} ({why})", names.join(", "))).collect();
        table.note(format!("Not computed for any option: {}.", told.join("; ")));
    }
    if table.rows.is_empty() {
        doc.blocks.pop();
        doc.paragraph(table.notes.last().map(Text::words).unwrap_or_default());
    } else {
        doc.table(table);
    }
}

/// A figure without the range behind it.
fn middle(figure: &str) -> String {
    one_form(figure.split_once(" (").map_or(figure, |(middle, _)| middle))
}

/// Whether a limit speaks of what is gone with an option, and can't be held against what stands in its stead.
fn is_asked(case: &ComparedCase<'_>, option: usize, limit: &str) -> bool {
    let of = case.study.options.get(option);
    of.is_some_and(|of| of.alternative.limits_not_judged.iter().any(|one| one.limit == limit))
}

/// How a limit comes out in an option, in words.
pub(super) fn outcome_words(case: &ComparedCase<'_>, of: Option<&Predicted>) -> String {
    let Some(of) = of else { return "applies no longer".to_owned() };
    match compare_limits::outcome(case, of) {
        None => "not computed".to_owned(),
        Some(Outcome::Undecided) if of.outcome != Some(Outcome::Undecided) => {
            let report = case.study.doubt(&of.name).is_some_and(Doubt::is_of_the_report);
            let known = case.study.doubts.iter().find(|doubt| doubt.limit == of.name);
            let how = known.map_or("logged", |doubt| doubt.how);
            format!("undecided by what was {}", if report { "reported" } else { how })
        }
        Some(Outcome::Undecided) => match of.share_outside {
            Some(share) if share > 0.0 => format!("undecided, outside in {} of the draws", percent(share)),
            // Rain that two readings do not decide, for one.
            _ => "undecided: the records do not tell".to_owned(),
        },
        Some(_) => compare_limits::in_words(case, of),
    }
}
