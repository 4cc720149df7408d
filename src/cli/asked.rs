//! What a command line asked of a command: written into a document, so that `verify` can make it again.

use std::any::TypeId;
use std::path::{Path, PathBuf};

use clap::parser::ValueSource;
use clap::{Arg, ArgAction, ArgMatches, Args as _, Command};

use crate::cli::publish::OutputArgs;

/// Flags that change nothing that a document says.
const SAY_NOTHING: &[&str] = &["all", "fail_on"];
/// Flags beside a document's outputs that write or open something.
const DO_MORE: &[&str] = &["page", "open", "watch"];
/// The argument that is the site's folder.
pub const FOLDER: &str = "dir";

/// The command's name and what was typed behind it, but for the site's folder and where the outputs go. A file in the
/// site's folder is named from there; of one outside it no more than its name is kept.
pub fn asked(command: &Command, matches: &ArgMatches) -> Vec<String> {
    let dir = matches.try_get_one::<PathBuf>(FOLDER).ok().flatten();
    let mut words = vec![command.get_name().to_owned()];
    for argument in command.get_arguments() {
        let id = argument.get_id().as_str();
        let typed = matches.try_contains_id(id).is_ok() && matches.value_source(id) == Some(ValueSource::CommandLine);
        if !typed || id == FOLDER || SAY_NOTHING.contains(&id) || goes_out(argument) {
            continue;
        }
        let flag = argument.get_long().map(|long| format!("--{long}"));
        if matches!(argument.get_action(), ArgAction::SetTrue) {
            words.extend(flag);
            continue;
        }
        let is_file = argument.get_value_parser().type_id() == TypeId::of::<PathBuf>();
        for value in matches.get_raw(id).into_iter().flatten() {
            let typed = value.to_string_lossy().into_owned();
            let value = if is_file { from_the_folder(typed, dir.map(PathBuf::as_path)) } else { typed };
            words.push(flag.as_ref().map_or_else(|| value.clone(), |flag| format!("{flag}={value}")));
        }
    }
    words
}

/// Whether an argument says where an output goes.
fn goes_out(argument: &Arg) -> bool {
    let outputs = OutputArgs::augment_args(Command::new("outputs"));
    outputs.get_arguments().any(|other| other.get_id() == argument.get_id())
        || DO_MORE.contains(&argument.get_id().as_str())
}

/// Whether words that a document carries may be run again: whoever wrote them, nothing is written but what is compared.
pub fn may_run(command: &Command, words: &[String]) -> bool {
    words.iter().all(|word| {
        let name = word.split('=').next().unwrap_or(word).strip_prefix("--");
        let named = name.and_then(|name| command.get_arguments().find(|argument| argument.get_long() == Some(name)));
        named.is_some_and(|argument| !goes_out(argument)) || !word.starts_with('-')
    })
}

/// A file by its way from the site's folder, or by its name alone where it stands outside.
fn from_the_folder(typed: String, dir: Option<&Path>) -> String {
    let file = Path::new(&typed).canonicalize().ok();
    let folder = dir.and_then(|dir| dir.canonicalize().ok());
    let within = file.zip(folder).and_then(|(file, folder)| Some(file.strip_prefix(folder).ok()?.to_owned()));
    let named = within.or_else(|| Path::new(&typed).file_name().map(PathBuf::from));
    named.map_or(typed, |path| path.to_string_lossy().into_owned())
}
