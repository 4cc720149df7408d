//! `page --watch`: the page is made again whenever a file of the site is saved. What can't be read is told on top of the last
//! page that could.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher};

use crate::cli::load::{self, Asked};
use crate::cli::page::{Args, page, tell_where};
use crate::cli::{Done, Stop};
use crate::files::{Content, Sources, UNFINISHED, check_targets, write_whole};
use crate::page::html::{self, Page};
use crate::told::{Problems, Severity};

/// An editor writes a file in several strokes: this long after the last one it is read.
const REST: Duration = Duration::from_millis(60);
/// Most problems that stand on the page.
const MOST: usize = 40;

/// Makes the page, and makes it again until the program is ended.
///
/// # Errors
/// When the files can't be watched, or the page can't be written.
pub fn watch(args: &Args, target: &Path) -> Done {
    let (saved, changes) = channel();
    let mut watcher = notify::recommended_watcher(move |event| {
        // Nobody listens any more only when the program ends.
        let _ = saved.send(event);
    })?;
    watcher.watch(&args.site.dir, RecursiveMode::Recursive)?;
    let mut folders = Vec::new();
    let mut last = Page { watched: true, ..Page::default() };
    let asked = load::asked(&args.site)?;
    make(args, &asked, target, &mut last, &mut watcher, &mut folders)?;
    tell_where(args, target)?;
    load::to_stderr("It is made again whenever a file of the site is saved; Ctrl-C ends that.\n");
    while next(&changes, target) {
        make(args, &asked, target, &mut last, &mut watcher, &mut folders)?;
    }
    Ok(())
}

/// Waits for a save and for the strokes that follow it; no more when nothing watches any longer.
fn next(changes: &Receiver<notify::Result<Event>>, target: &Path) -> bool {
    let counts = |event: notify::Result<Event>| event.is_ok_and(|event| is_save(&event, target));
    while let Ok(event) = changes.recv() {
        if !counts(event) {
            continue;
        }
        // Whoever only reads, a browser that asks for the page again and again, must not keep the save from being taken.
        let mut until = Instant::now() + REST;
        while let Ok(event) = changes.recv_timeout(until.saturating_duration_since(Instant::now())) {
            if counts(event) {
                until = Instant::now() + REST;
            }
        }
        return true;
    }
    false
}

/// Whether something was written, moved or taken away that is not the page itself.
fn is_save(event: &Event, target: &Path) -> bool {
    let own = |path: &PathBuf| {
        path.file_name() == target.file_name()
            || path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(UNFINISHED))
    };
    !matches!(event.kind, EventKind::Access(_)) && !event.paths.iter().all(own)
}

/// Reads the site and writes its page; where it can't be read, the last page with the problems on top.
fn make(
    args: &Args,
    asked: &Asked,
    target: &Path,
    last: &mut Page,
    watcher: &mut RecommendedWatcher,
    folders: &mut Vec<PathBuf>,
) -> Done {
    let read = load::read(&args.site.dir, asked, &|_, _, _| ());
    let sources = match &read {
        Ok(site) => &site.sources,
        Err(unread) => &unread.sources,
    };
    check_targets(&[(target, Content::Page)], sources)?;
    watch_also(sources, watcher, folders);
    let told = match read {
        Err(unread) => told(&unread.problems, true, last),
        Ok(mut site) => {
            args.site.dress.put_on(&mut site.facility);
            let told = told(&site.problems, false, last);
            match page(&site, args.draws) {
                Ok(made) => {
                    *last = Page { watched: true, ..made };
                    told
                }
                Err(Stop::Could(words)) => Some(html::Problems { head: head(true, last), lines: vec![words] }),
                Err(Stop::FailOn) => None,
            }
        }
    };
    last.problems = told;
    Ok(write_whole(target, html::render(last).as_bytes())?)
}

/// The folders of files that lie outside the site's own.
fn watch_also(sources: &Sources, watcher: &mut RecommendedWatcher, folders: &mut Vec<PathBuf>) {
    for file in sources.files_read() {
        let path = sources.directory().join(&*file.name);
        let Some(folder) = path.parent().map(Path::to_path_buf) else { continue };
        if file.name.starts_with("..") && !folders.contains(&folder) {
            // One that can't be watched is read all the same when another file is saved.
            let _ = watcher.watch(&folder, RecursiveMode::NonRecursive);
            folders.push(folder);
        }
    }
}

/// Problems for the top of the page, errors first.
fn told(problems: &Problems, failed: bool, last: &Page) -> Option<html::Problems> {
    let mut all = problems.in_order();
    all.sort_by_key(|problem| problem.severity);
    let word = |severity: Severity| match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    };
    let mut lines: Vec<String> = all
        .iter()
        .take(MOST)
        .map(|problem| {
            let hint = problem.hint.as_ref().map_or_else(String::new, |hint| format!(" ({hint})"));
            format!("{}: {}{hint}", word(problem.severity), problem.to_string_line())
        })
        .collect();
    let more = all.len().saturating_sub(MOST);
    if more > 0 {
        lines.push(format!("and {more} more: `bywash check` tells them"));
    }
    (failed || !lines.is_empty()).then(|| html::Problems { head: head(failed, last), lines })
}

fn head(failed: bool, last: &Page) -> String {
    match (failed, last.document.is_some()) {
        (false, _) => "What the files make one ask:",
        (true, true) => "The files can’t be read as they stand. Below is the page as it was before:",
        (true, false) => "The files can’t be read as they stand:",
    }
    .to_owned()
}

#[cfg(test)]
mod tests {
    use notify::event::{AccessKind, AccessMode, DataChange, ModifyKind};

    use super::*;

    /// A page in a browser, a search of the disk or a backup reads without end; a save among it is still taken.
    #[test]
    fn readers_never_keep_a_save_from_being_taken() {
        let (sender, changes) = channel();
        let done = std::sync::Arc::new(std::sync::atomic::AtomicBool::new(false));
        let reading = {
            let done = done.clone();
            std::thread::spawn(move || {
                let read =
                    Event::new(EventKind::Access(AccessKind::Open(AccessMode::Any))).add_path("page.html".into());
                let save = Event::new(EventKind::Modify(ModifyKind::Data(DataChange::Any)));
                sender.send(Ok(save.add_path("facility.yaml".into()))).unwrap();
                while !done.load(std::sync::atomic::Ordering::Relaxed) {
                    let _ = sender.send(Ok(read.clone()));
                    std::thread::sleep(REST / 4);
                }
            })
        };
        let taken = std::thread::spawn(move || next(&changes, Path::new("page.html")));
        let begun = Instant::now();
        while !taken.is_finished() && begun.elapsed() < REST * 50 {
            std::thread::sleep(REST / 4);
        }
        let was_taken = taken.is_finished();
        done.store(true, std::sync::atomic::Ordering::Relaxed);
        reading.join().unwrap();
        assert!(was_taken, "no save was taken while something read");
    }
}
