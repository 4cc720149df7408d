//! `schema`: prints the JSON Schema of a file, for editors.

use clap::ValueEnum;
use serde_json::Value as Json;

use crate::cli::Done;
use crate::cli::{load, new};
use crate::compare::{prices, proposal, search};
use crate::{facility, rules, sizing};

/// What `schema` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(
    before_help = "Example:\n    bywash schema facility > .schema/facility.json",
    after_help = "An editor takes it for a file whose first line is\n    # yaml-language-server: $schema=.schema/facility.json"
)]
pub struct Args {
    /// The file
    #[arg(value_enum)]
    pub file: Of,
}

/// The files that have a schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Of {
    /// What is on the site: facility.yaml
    Facility,
    /// What the permit says
    Rules,
    /// What things cost: prices.yaml
    Prices,
    /// What changes at the site
    Proposal,
    /// From which stages trains are built and tried: stages.yaml
    Stages,
    /// What a pond must do: basin.yaml
    Basin,
    /// What `new` asks: answers.yaml
    Answers,
}

impl Of {
    /// The word of the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Facility => "facility",
            Self::Rules => "rules",
            Self::Prices => "prices",
            Self::Proposal => "proposal",
            Self::Stages => "stages",
            Self::Basin => "basin",
            Self::Answers => "answers",
        }
    }

    /// The schema.
    pub fn schema(self) -> Json {
        match self {
            Self::Facility => facility::schema(),
            Self::Rules => rules::schema(),
            Self::Prices => prices::schema(),
            Self::Proposal => proposal::schema(),
            Self::Stages => search::schema(),
            Self::Basin => sizing::schema(),
            Self::Answers => new::schema(),
        }
    }

    /// The schema as it is printed.
    pub fn printed(self) -> String {
        format!("{:#}\n", self.schema())
    }
}

/// Prints it on stdout.
pub fn run(args: &Args) -> Done {
    load::to_stdout(args.file.printed().as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_word_of_a_file_is_that_of_the_command_line() {
        for file in Of::value_variants() {
            assert_eq!(Of::from_str(file.name(), false), Ok(*file));
        }
    }
}
