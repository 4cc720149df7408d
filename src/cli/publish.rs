//! Where a command's document goes: a PDF, a workbook of its tables, JSON on stdout. One way for every command.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::cli::load;
use crate::cli::{Done, Stop};
use crate::files::{Content, Sources, check_targets, write_whole};
use crate::page::document::Document;
#[cfg(feature = "xlsx")]
use crate::page::tables;
use crate::page::{pdf, terminal};

/// Where the outputs go that a command line asks for.
#[derive(Debug)]
pub struct Targets {
    pdf: Option<PathBuf>,
    tables: Option<PathBuf>,
    json: bool,
}

impl Targets {
    /// `--json` alone makes no PDF; without it the PDF goes to `usual` where no file is named.
    pub fn asked(json: bool, output: Option<&PathBuf>, tables: Option<&PathBuf>, usual: PathBuf) -> Self {
        let pdf = output.cloned().or((!json).then_some(usual));
        Self { pdf, tables: tables.cloned(), json }
    }

    /// Asked before anything is computed: no output takes the place of a file that was read, of another output, or of a
    /// file of another kind.
    ///
    /// # Errors
    /// With the target that can't be written to.
    pub fn check(&self, sources: &Sources) -> Done {
        let pdf = self.pdf.as_deref().map(|path| (path, Content::Pdf));
        let tables = self.tables.as_deref().map(|path| (path, Content::Workbook));
        let targets: Vec<(&Path, Content)> = pdf.into_iter().chain(tables).collect();
        Ok(check_targets(&targets, sources)?)
    }

    /// Writes them; on the terminal the first page, and where each file is.
    ///
    /// # Errors
    /// When an output can't be made or written.
    pub fn write(&self, what: &str, document: &Document, json: impl FnOnce() -> Value) -> Done {
        if self.json {
            let mut text = serde_json::to_vec_pretty(&json())?;
            text.push(b'\n');
            load::to_stdout(&text)?;
        }
        if let Some(path) = &self.pdf {
            write_whole(path, &pdf::render(document)?)?;
            if !self.json {
                load::to_stderr(&terminal::render_blocks(document, document.first_page()));
            }
            load::to_stderr(&format!("{what} is in {}.\n", path.display()));
        }
        if let Some(path) = &self.tables {
            write_whole(path, &workbook(document)?)?;
            load::to_stderr(&format!("Its tables are in {}.\n", path.display()));
        }
        Ok(())
    }
}

/// Every table of a document, one sheet each.
#[cfg(feature = "xlsx")]
fn workbook(document: &Document) -> Result<Vec<u8>, Stop> {
    let all = document.all_tables();
    let named: Vec<_> = all.iter().map(|(name, table)| (name.clone(), table)).collect();
    Ok(tables::workbook(&named)?)
}

/// This program was built without workbooks.
#[cfg(not(feature = "xlsx"))]
fn workbook(_document: &Document) -> Result<Vec<u8>, Stop> {
    Err(Stop::Could("this bywash was built without XLSX workbooks".to_owned()))
}
