//! `sheet`: drafts the mapping of a sheet as people keep it, or tells what is new in one that has a mapping.

mod shown;
#[cfg(test)]
mod tests;

use std::fmt::Write as _;
use std::io::{BufRead, IsTerminal, Write as _};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use chrono::{NaiveDate, NaiveTime};
use clap::Args as ClapArgs;

use shown::{show, show_changes};

use crate::cli::check::by_kind;
use crate::facility::{self, model::Facility};
use crate::files::{Sources, write_whole};
use crate::quantity::{DateOrder, DecimalMark, clock};
use crate::records::sheet::{
    About, Answers, Cells, Grid, Habit, Habits, Mapping, Question, apply, column_on_a_line, draft, lost_days,
    misplaced, since_named, with_those_before,
};
use crate::records::timeline_of;
use crate::told::{Problems, print};

/// What `sheet` is told.
#[derive(Debug, Clone, ClapArgs)]
#[command(
    about = "Say once how a sheet is to be read: a CSV or XLSX file as people keep it",
    before_help = "Example:  bywash sheet \"my-nursery/records/wash log.xlsx\"\n\
                   It finds headings, dates and units, shows five rows as understood and the rows left out, and writes \
                   a small mapping file beside the sheet. Run it again after the sheet has grown: it lists rows new, \
                   changed and gone.",
    after_help = "The sheet itself is never changed. What is not clear is asked on a terminal; elsewhere the flag that \
                  answers it is named, and nothing is written. Answers are kept in the mapping file: one more need not repeat \
                  those before."
)]
pub struct Args {
    /// The sheet: a .csv or .xlsx in the facility's folder of records
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The facility's folder; found from the sheet's own when left out
    #[arg(value_name = "DIR")]
    pub directory: Option<PathBuf>,
    /// Which comes first in dates like 6/7: "day first" or "month first"
    #[arg(long, value_name = "ORDER", value_parser = order)]
    pub dates: Option<DateOrder>,
    /// The year of dates that carry none
    #[arg(long, value_name = "YEAR", value_parser = clap::value_parser!(i32).range(1980..=2100))]
    pub year: Option<i32>,
    /// The mark before decimals: "point" or "comma"
    #[arg(long, value_name = "MARK", value_parser = mark)]
    pub decimal_mark: Option<DecimalMark>,
    /// When readings were taken, where the sheet gives no time
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub time: Option<NaiveTime>,
    /// What counts cover: "that day", "since the last row" or "since the last reading"
    #[arg(long, value_name = "WHAT")]
    pub counts: Option<String>,
    /// Days whose rows are lost, such as "Feb 2025"; "nothing" where none is
    #[arg(long, value_name = "DAYS")]
    pub lost: Vec<String>,
    /// The days a row like "3 (Sat-Mon)" tells of: "their own day" where it was read on the last, "the day before" where
    /// every row was read the morning after
    #[arg(long, value_name = "WHAT")]
    pub rows_tell_of: Option<String>,
    /// Dates a year off their tab's month: "of the tab" or "as written"
    #[arg(long, value_name = "WHICH")]
    pub tab_year: Option<String>,
    /// Dials written like ".513": "of the reading above" or "as written"
    #[arg(long, value_name = "WHICH")]
    pub tails: Option<String>,
    /// Feet and inches written like 1.1: ".1 is 10 in", ".1 is 1 in" or "as the level beside it says"
    #[arg(long, value_name = "WHICH")]
    pub inches: Option<String>,
    /// Numbers of the workbook like 31.208 among dials like 31550, where decimals have a comma: "of thousands" or "of
    /// decimals"
    #[arg(long, value_name = "WHICH")]
    pub points: Option<String>,
    /// Dials without their point among dials like 25043.4: "put back" or "as written"
    #[arg(long, value_name = "WHICH")]
    pub lost_points: Option<String>,
    /// Cells like 9+8+8 in a column of counts or amounts: "add" or "not read"
    #[arg(long, value_name = "WHICH")]
    pub sums: Option<String>,
    /// The number of a slip all of whose results are void
    #[arg(long, value_name = "SLIP")]
    pub void: Vec<String>,
    /// A code of a rain file for what is not known: -888, or "-888=in a later total" where the next reading has it
    #[arg(long, value_name = "CODE", allow_hyphen_values = true)]
    pub missing: Vec<String>,
    /// What words in a column of looks say: "only a puddle=dry", "-=dry", "blank=dry", flowing, or "not said"; of
    /// one place alone: "blank at Outfall 2=dry"
    #[arg(long, value_name = "WORDS=WHAT", allow_hyphen_values = true)]
    pub look: Vec<String>,
    /// What results are below that say ND and no limit: "<0.05 mg/L", or for one parameter "nitrate-N <0.05 mg/L"
    #[arg(long, value_name = "LIMIT")]
    pub nd_means: Vec<String>,
    /// What the calls and letters of a date are about, where they do not say it: "2025-04-15=14 Apr 2025", with the limit's
    /// name where it is needed
    #[arg(long, value_name = "DATE=WHAT")]
    pub about: Vec<String>,
    /// What a column holds, by letter or heading: 'F=place: M3 wash, what: reading' or 'F=not read'
    #[arg(long, value_name = "COLUMN=WHAT")]
    pub column: Vec<String>,
    /// Show how the sheet would be read and write nothing
    #[arg(long)]
    pub dry_run: bool,
}

fn order(text: &str) -> Result<DateOrder, String> {
    DateOrder::from_words(text).ok_or_else(|| "write \"day first\", \"month first\" or \"year first\"".to_string())
}

fn mark(text: &str) -> Result<DecimalMark, String> {
    match text.trim().to_lowercase().as_str() {
        "point" => Ok(DecimalMark::Point),
        "comma" => Ok(DecimalMark::Comma),
        _ => Err("write point or comma".to_string()),
    }
}

fn time(text: &str) -> Result<NaiveTime, String> {
    clock(text).map_err(|refusal| refusal.message)
}

/// Drafts or follows a mapping. Gives 0, 1 when the sheet can't be read or something must be answered first, 2 for a
/// flag that says nothing.
pub fn run(args: &Args) -> ExitCode {
    let terminal = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    let mut ask = |question: &Question| {
        if terminal { ask_on_terminal(question) } else { None }
    };
    let mut told = Told::default();
    let code = work(args, &mut ask, &mut told);
    // A reader that has gone away is no reason to fail.
    let _ = std::io::stdout().write_all(told.out.as_bytes());
    let _ = std::io::stderr().write_all(told.err.as_bytes());
    ExitCode::from(code)
}

/// Does what [`run`] does and prints nothing: how it ended, and what would stand on standard output and standard error.
/// `answer` is given each question with its options; where it has none, the questions are what is told.
pub fn quietly(args: &Args, answer: &mut dyn FnMut(&str, &[String]) -> Option<String>) -> (u8, String, String) {
    let mut told = Told::default();
    let code = work(args, &mut |question: &Question| answer(&question.text, &question.options), &mut told);
    (code, told.out, told.err)
}

/// What is shown: rows on standard output, problems and questions on standard error.
#[derive(Debug, Default)]
struct Told {
    out: String,
    err: String,
}

type Ask<'a> = &'a mut dyn FnMut(&Question) -> Option<String>;

fn work(args: &Args, ask: Ask, told: &mut Told) -> u8 {
    let answers = match answers(args) {
        Ok(answers) => answers,
        Err(message) => {
            let _ = writeln!(told.err, "error: {message}");
            return 2;
        }
    };
    let directory = directory(args);
    let mut sources = Sources::new(&directory);
    let mut problems = Problems::new();
    let read = facility::read(&directory, &mut sources, &mut problems);
    let sound = read.filter(|_| !problems.has_errors());
    let is_sound = sound.is_some();
    if !is_sound {
        told.err.push_str(&print(&problems, &sources, false));
    }
    // Names are enough to ask about a sheet, and mending both at once spares a round.
    let Some(facility) = sound.or_else(|| facility::names_of(&directory, &mut sources)) else {
        return 1;
    };
    let name = match name_of(args, &facility, &directory, &sources) {
        Ok(name) => name,
        Err(message) => {
            let _ = writeln!(told.err, "error: {message}");
            return 1;
        }
    };
    let problems = Problems::new();
    let done = one_sheet(args, (&facility, is_sound), &name, answers, (&mut sources, &problems), ask, told);
    told.err.push_str(&print(&problems, &sources, false));
    if done && is_sound && !problems.has_errors() { 0 } else { 1 }
}

/// Reads one sheet and writes its mapping. False when it could not.
fn one_sheet(
    args: &Args,
    (facility, is_sound): (&Facility, bool),
    name: &str,
    answers: Answers,
    (sources, problems): (&mut Sources, &Problems),
    ask: Ask,
    told: &mut Told,
) -> bool {
    let Some(grid) = Grid::open(name, None, sources, problems) else {
        return false;
    };
    let own = name.rsplit('/').next().unwrap_or(name);
    let mapping_file = Mapping::file_of(name);
    let before = if sources.exists(&mapping_file) {
        let read = sources.text(&mapping_file, None, problems).and_then(|source| Mapping::read(&source, problems));
        if read.is_none() {
            return false;
        }
        read
    } else {
        None
    };
    let answered = !args.column.is_empty()
        || args.dates.is_some()
        || args.year.is_some()
        || args.decimal_mark.is_some()
        || args.time.is_some()
        || args.counts.is_some()
        || !args.lost.is_empty()
        || ![&args.missing, &args.look, &args.nd_means, &args.void, &args.about].into_iter().all(Vec::is_empty)
        || habits_typed(args).any(|(_, words)| words.is_some());
    let mut unknown = Vec::new();
    let mut mapping = match before.clone().filter(|_| !answered) {
        Some(mapping) => mapping,
        None => match drafted(facility, &grid, own, with_before(&grid, before.as_ref(), answers), ask, told) {
            Some((mapping, of_nothing_known)) => {
                unknown = of_nothing_known;
                mapping
            }
            None => return false,
        },
    };
    // A mapping that can't be followed is told of once, and not of each of its rows; it is never written.
    if is_sound {
        let wrong = misplaced(facility, &mapping);
        for line in &wrong {
            let _ = writeln!(told.err, "error: {line}");
        }
        if !wrong.is_empty() {
            return false;
        }
    }
    let applied = apply(&grid, &mapping, problems);
    show(&grid, &mapping, &applied, told);
    if let Some(before) = &before {
        show_changes(&before.rows, &applied, told);
    }
    // What nothing is known of may be of a place that can't be read.
    if !is_sound && !unknown.is_empty() {
        let _ = writeln!(
            told.out,
            "Nothing was written: {} has the errors told here, and {} may be of what they are about.",
            facility::FACILITY_FILE,
            unknown.join(", ")
        );
        return true;
    }
    // Names, units and meters are looked at too, so that a slip is told now and not at the next report.
    if is_sound {
        let timeline = timeline_of(facility, applied.rows.clone(), &[], problems);
        for sentence in by_kind(&timeline.repairs) {
            let _ = writeln!(told.out, "  note: {sentence}");
        }
    }
    if args.dry_run {
        let _ = writeln!(told.out, "Nothing was written.");
        return true;
    }
    mapping.rows = applied.digests;
    let old = before.as_ref().zip(sources.text(&mapping_file, None, &Problems::new()).filter(|_| before.is_some()));
    let text = old.map_or_else(|| mapping.to_yaml(), |(before, text)| mapping.to_yaml_over(&text.text, before));
    match write_whole(&sources.directory().join(&mapping_file), text.as_bytes()) {
        Ok(()) => {
            let _ = writeln!(told.out, "Wrote {mapping_file}; you may edit it. {own} is as it was.");
            true
        }
        Err(cause) => {
            let _ = writeln!(told.err, "error: {cause}");
            false
        }
    }
}

/// What was answered before stays where nothing is said of it now.
fn with_before(grid: &Grid, before: Option<&Mapping>, answers: Answers) -> Answers {
    match before {
        Some(before) => with_those_before(grid, before, answers),
        None => answers,
    }
}

/// A mapping, and the columns of which nothing is known.
fn drafted(
    facility: &Facility,
    grid: &Grid,
    own: &str,
    mut answers: Answers,
    ask: Ask,
    told: &mut Told,
) -> Option<(Mapping, Vec<String>)> {
    loop {
        let draft = draft(facility, grid, own, &answers);
        let Some(question) = draft.questions.first() else {
            for sentence in &draft.told {
                let _ = writeln!(told.out, "  {sentence}");
            }
            if draft.mapping.tables.is_empty() {
                let needs = "a sheet needs a column of dates, and beside it a column of what was read or done";
                let _ = writeln!(told.err, "error: nothing in {own} can be read: {needs}");
                return None;
            }
            return Some((draft.mapping, draft.unknown));
        };
        let Some(answer) = ask(question) else {
            let _ = writeln!(
                told.err,
                "error: {} not clear in {own}:",
                if draft.questions.len() == 1 { "one thing is" } else { "some things are" }
            );
            for question in &draft.questions {
                let _ = writeln!(told.err, "  {}", question.text);
                let _ = writeln!(told.err, "    answer it with  {}", question.flag);
                for flag in other_flags(question) {
                    let _ = writeln!(told.err, "    or with         {flag}");
                }
            }
            return None;
        };
        if let Err(message) = take(question, &answer, &mut answers) {
            let _ = std::io::stderr().write_all(format!("  {message}\n").as_bytes());
        }
    }
}

/// The flags that give the other answers, each whole as it is typed.
fn other_flags(question: &Question) -> Vec<String> {
    let Some((first, others)) = question.options.split_first() else {
        return Vec::new();
    };
    others
        .iter()
        .map(|option| match question.flag.rfind(first.as_str()) {
            Some(at) => {
                let (before, from) = question.flag.split_at(at);
                let after = from.get(first.len()..).unwrap_or_default();
                format!("{before}{option}{after}")
            }
            None => option.clone(),
        })
        .collect()
}

/// Takes the answer to a question: the number of an option, or words.
fn take(question: &Question, answer: &str, answers: &mut Answers) -> Result<(), String> {
    let answer = answer.trim();
    let words = answer
        .parse::<usize>()
        .ok()
        .filter(|_| question.about != About::Year)
        .and_then(|number| question.options.get(number.checked_sub(1)?))
        .map_or(answer, String::as_str);
    match &question.about {
        About::Dates => answers.dates = Some(order(words)?),
        About::Year => {
            let year = words.parse().ok().filter(|year| (1980..=2100).contains(year));
            answers.year = Some(year.ok_or("write a year like 2025")?);
        }
        About::Mark => answers.mark = Some(mark(words)?),
        About::Counts => {
            answers.counts = Some(since_named(words).ok_or("write \"that day\" or \"since the last row\"")?)
        }
        About::Lost => answers.lost = Some(lost(words.split(';'))?),
        About::Habit(habit) => answers.habits.say(*habit, words)?,
        About::Missing => answers.cells.say_missing(words)?,
        About::Look => answers.cells.say_look(words)?,
        About::Letter => answers.cells.say_about(words)?,
        About::NotDetected => answers.cells.say_not_detected(words)?,
        About::Column(name) => answers.columns.push((name.clone(), column_on_a_line(words)?)),
    }
    Ok(())
}

/// Each stretch of days whose rows are lost.
fn lost<'a>(typed: impl Iterator<Item = &'a str>) -> Result<Vec<(NaiveDate, NaiveDate)>, String> {
    let days = typed.map(|text| lost_days(text).map_err(|refusal| format!("--lost \"{text}\": {refusal}")));
    Ok(days.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

fn ask_on_terminal(question: &Question) -> Option<String> {
    let mut err = std::io::stderr();
    let mut text = format!("{}\n", question.text);
    for (at, option) in question.options.iter().enumerate() {
        let _ = writeln!(text, "  {}  {option}", at + 1);
    }
    text.push_str(if question.options.is_empty() { "> " } else { "number or words > " });
    err.write_all(text.as_bytes()).ok()?;
    err.flush().ok()?;
    let mut line = String::new();
    let read = std::io::stdin().lock().read_line(&mut line).ok()?;
    (read > 0 && !line.trim().is_empty()).then_some(line)
}

fn answers(args: &Args) -> Result<Answers, String> {
    let mut columns = Vec::new();
    for typed in &args.column {
        let (name, what) = typed.split_once('=').ok_or_else(|| {
            format!("--column '{typed}' does not say what the column holds; write it like 'F=not read'")
        })?;
        let column = column_on_a_line(what).map_err(|message| format!("--column '{typed}': {message}"))?;
        columns.push((name.trim().to_string(), column));
    }
    let counts = match &args.counts {
        None => None,
        Some(words) => Some(since_named(words).ok_or_else(|| {
            format!("--counts \"{words}\": write \"that day\", \"since the last row\" or \"since the last reading\"")
        })?),
    };
    let lost = if args.lost.is_empty() { None } else { Some(lost(args.lost.iter().flat_map(|days| days.split(';')))?) };
    let mut habits = Habits::default();
    for (habit, words) in habits_typed(args) {
        let Some(words) = words else { continue };
        let flag = habit.key().replace(' ', "-");
        habits.say(habit, words).map_err(|message| format!("--{flag} \"{words}\": {message}"))?;
    }
    let mut cells = Cells::default();
    for (flag, typed, say) in [
        ("missing", &args.missing, Cells::say_missing as fn(&mut Cells, &str) -> Result<(), String>),
        ("look", &args.look, Cells::say_look),
        ("nd-means", &args.nd_means, Cells::say_not_detected),
        ("void", &args.void, Cells::say_void),
        ("about", &args.about, Cells::say_about),
    ] {
        for text in typed {
            say(&mut cells, text).map_err(|message| format!("--{flag} \"{text}\": {message}"))?;
        }
    }
    Ok(Answers {
        dates: args.dates,
        year: args.year,
        mark: args.decimal_mark,
        time: args.time,
        counts,
        habits,
        cells,
        lost,
        columns,
    })
}

/// What was typed of each habit.
fn habits_typed(args: &Args) -> impl Iterator<Item = (Habit, Option<&String>)> {
    Habit::ALL.into_iter().map(|habit| {
        let typed = match habit {
            Habit::RowsTellOf => args.rows_tell_of.as_ref(),
            Habit::TabYear => args.tab_year.as_ref(),
            Habit::Tails => args.tails.as_ref(),
            Habit::Inches => args.inches.as_ref(),
            Habit::Points => args.points.as_ref(),
            Habit::LostPoints => args.lost_points.as_ref(),
            Habit::Sums => args.sums.as_ref(),
        };
        (habit, typed)
    })
}

/// The facility's folder: as given, else the one above the sheet's, else the one we stand in.
fn directory(args: &Args) -> PathBuf {
    if let Some(directory) = &args.directory {
        return directory.clone();
    }
    let above = args.file.parent().map(|folder| match folder.parent() {
        Some(above) if !above.as_os_str().is_empty() => above.to_path_buf(),
        _ => PathBuf::from("."),
    });
    let beside = args.file.parent().map(Path::to_path_buf);
    let has_site = |folder: &PathBuf| Sources::new(folder).exists(facility::FACILITY_FILE);
    above.filter(has_site).or(beside.filter(has_site)).unwrap_or_else(|| PathBuf::from("."))
}

/// The sheet's name from the facility's folder. It must lie in the folder of records.
fn name_of(args: &Args, facility: &Facility, directory: &Path, sources: &Sources) -> Result<String, String> {
    let typed = args.file.display().to_string();
    if let Some(rain) = &facility.weather.rain {
        let path =
            |path: &Path| std::path::absolute(path).ok().map(|path| Sources::name_of(&path.display().to_string()));
        let is_rain = path(&args.file) == path(&directory.join(&rain.file)) || typed == rain.file;
        if is_rain && sources.exists(&rain.file) {
            return Ok(rain.file.clone());
        }
    }
    let Some((records, _)) = &facility.records else {
        return Err(format!(
            "the facility names no folder of records; write `records: records` in {}",
            facility::FACILITY_FILE
        ));
    };
    let records = Sources::name_of(records);
    let own = args
        .file
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .ok_or_else(|| format!("`{typed}` is not a file"))?;
    let name = format!("{records}/{own}");
    let ends = [".csv", ".xlsx"].iter().any(|end| own.to_lowercase().ends_with(end));
    if own.to_lowercase().ends_with(".txt") {
        return Err(plain_text(&own, &name, directory, &records));
    }
    if !ends {
        return Err(format!("`{own}` is neither .csv nor .xlsx; save the sheet as one of them"));
    }
    let absolute =
        |path: &Path| std::path::absolute(path).ok().map(|path| Sources::name_of(&path.display().to_string()));
    let is_there = sources.exists(&name);
    let same =
        absolute(&args.file) == absolute(&directory.join(&name)) || typed == own || Sources::name_of(&typed) == name;
    match (is_there, same) {
        (true, true) => Ok(name),
        (false, true) => Err(format!("there is no file `{typed}`")),
        (_, false) => Err(format!(
            "`{typed}` is not in the folder of records, {}; copy it there, and run this again",
            directory.join(&records).display()
        )),
    }
}

/// What to do with a text: a book of calls and letters is often kept as one.
fn plain_text(own: &str, name: &str, directory: &Path, records: &str) -> String {
    let text = Sources::new(directory).text(name, None, &Problems::new());
    let lines = text.map_or(0, |text| text.text.lines().filter(|line| !line.trim().is_empty()).count());
    let none = if lines > 0 { format!(": none of its {lines} lines is read") } else { String::new() };
    format!(
        "`{own}` is plain text, and only tables are read (.csv, .xlsx){none}. A table with tabs or commas: save it as .csv. A book of \
         calls and letters: type each call, letter and report sent as a line of {records}/letters.csv, under `date,place,what,paper,note`, \
         like `2025-04-02 09:10,Outfall 1,call,{own} line 3,TSS month average for March 2025`"
    )
}
