//! Where a command's document goes: a PDF, a workbook of its tables, JSON on stdout. One way for every command.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::cli::load;
use crate::cli::progress::Stages;
use crate::cli::{Done, Stop};
use crate::files::{Content, FileRead, Outputs, Sources, check_targets, write_whole};
use crate::page::document::{Document, Made, Part};
use crate::page::html::{self, Page};
use crate::page::pdf::RenderError;
#[cfg(feature = "xlsx")]
use crate::page::tables;
use crate::page::tables::tables_json;
use crate::page::{figures, pdf, terminal};

/// Where a document, its annex, tables and drawings go.
#[derive(Debug, Clone, clap::Args)]
pub struct OutputArgs {
    /// Where the PDF goes [default: report.pdf, case.pdf, trains.pdf or basin.pdf in the site's folder]
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Where its annex goes: every window, assumption and method [default: beside the PDF, as NAME-annex.pdf]
    #[arg(long, value_name = "FILE")]
    pub annex: Option<PathBuf>,
    /// Print what was found as JSON on stdout (no PDF unless -o is given)
    #[arg(long)]
    pub json: bool,
    /// Write every table into a workbook as well
    #[arg(long, value_name = "FILE.xlsx")]
    pub tables: Option<PathBuf>,
    /// Write the pictures and the charts as SVG files into a folder as well
    #[arg(long, value_name = "FOLDER")]
    pub figures: Option<PathBuf>,
    /// The command and its flags, for whoever makes the document again.
    #[arg(skip)]
    pub asked: Vec<String>,
}

impl OutputArgs {
    /// `--json` alone makes no PDF; without it the PDF goes to `usual` where no file is named. The annex goes beside it:
    /// `report.pdf` has `report-annex.pdf`.
    pub fn targets(&self, usual: PathBuf) -> Targets {
        let pdf = self.output.clone().or((!self.json).then_some(usual));
        let beside = |pdf: &PathBuf| {
            let stem = pdf.file_stem().unwrap_or_default().to_string_lossy();
            pdf.with_file_name(format!("{stem}-annex.pdf"))
        };
        let annex = self.annex.clone().or_else(|| pdf.as_ref().map(beside));
        let (tables, figures) = (self.tables.clone(), self.figures.clone());
        let (page, json, asked) = (None, self.json, self.asked.clone());
        Targets { pdf, annex, tables, figures, page, json, asked, files: Vec::new() }
    }
}

/// What a document says of how it was made.
pub fn made(asked: &[String], files: &[FileRead], part: Part) -> Made {
    let files = files.iter().map(|file| (file.name.to_string(), file.sha256.clone())).collect();
    Made { bywash: env!("CARGO_PKG_VERSION").to_owned(), asked: asked.to_vec(), part, files }
}

/// Where the outputs go that a command line asks for.
#[derive(Debug)]
pub struct Targets {
    pdf: Option<PathBuf>,
    annex: Option<PathBuf>,
    tables: Option<PathBuf>,
    figures: Option<PathBuf>,
    page: Option<PathBuf>,
    json: bool,
    asked: Vec<String>,
    files: Vec<FileRead>,
}

impl Targets {
    /// With an HTML page as well.
    pub fn with_page(self, page: Option<&PathBuf>) -> Self {
        Self { page: page.cloned(), ..self }
    }

    /// Asked before anything is computed: no output takes the place of a file that was read, of another output, or of a
    /// file of another kind.
    ///
    /// # Errors
    /// With the target that can't be written to.
    pub fn checked(mut self, sources: &Sources) -> Result<Self, Stop> {
        let pdf = self.pdf.as_deref().map(|path| (path, Content::Pdf));
        let tables = self.tables.as_deref().map(|path| (path, Content::Workbook));
        let annex = self.annex.as_deref().map(|path| (path, Content::Pdf));
        // Drawings that stand in their folder already may be replaced.
        let drawings = self.figures.as_deref().map_or_else(Vec::new, |folder| Outputs::new(folder).there("svg"));
        let drawings = drawings.iter().map(|path| (path.as_path(), Content::Drawing));
        let page = self.page.as_deref().map(|path| (path, Content::Page));
        let targets: Vec<(&Path, Content)> =
            pdf.into_iter().chain(annex).chain(tables).chain(page).chain(drawings).collect();
        check_targets(&targets, sources)?;
        self.files = sources.files_read();
        Ok(self)
    }

    /// Writes the page, where one was asked for.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn write_page(&self, page: impl FnOnce() -> Page) -> Done {
        let Some(path) = &self.page else { return Ok(()) };
        let mut page = page();
        if let Some(document) = &mut page.document {
            document.made = Some(self.made(Part::Page));
        }
        write_whole(path, html::render(&page).as_bytes())?;
        load::to_stderr(&format!("Its page is in {}.\n", path.display()));
        Ok(())
    }

    /// Whether an annex is asked for, as a file of its own or for its tables.
    pub fn take_an_annex(&self) -> bool {
        self.annex.is_some() || self.tables.is_some()
    }

    fn made(&self, part: Part) -> Made {
        made(&self.asked, &self.files, part)
    }

    /// Writes them; on the terminal the first page, and where each file is.
    ///
    /// # Errors
    /// When an output can't be made or written.
    pub fn write(
        &self,
        what: &str,
        document: &Document,
        annex: impl FnOnce() -> Document,
        json: impl FnOnce() -> Value,
    ) -> Done {
        if self.json {
            let mut all = json();
            all["made"] = serde_json::to_value(self.made(Part::Findings))?;
            let mut text = serde_json::to_vec_pretty(&all)?;
            text.push(b'\n');
            load::to_stdout(&text)?;
        }
        let mut document = document.clone();
        document.made = Some(self.made(Part::Main));
        let mut annex = self.take_an_annex().then(annex);
        if let Some(annex) = &mut annex {
            annex.made = Some(self.made(Part::Annex));
        }
        let document = &document;
        let other = annex.as_ref().filter(|_| self.annex.is_some());
        let stages = Stages::new("writing the pages");
        // The two files are set side by side.
        let (main, other) = std::thread::scope(|scope| {
            let other = other.map(|annex| scope.spawn(|| pdf::render(annex)));
            let main = self.pdf.as_ref().map(|_| pdf::render(document));
            let failed = || Err(RenderError::Write("its own thread stopped".to_owned()));
            (main, other.map(|thread| thread.join().unwrap_or_else(|_| failed())))
        });
        drop(stages);
        if let (Some(path), Some(bytes)) = (&self.pdf, main) {
            write_whole(path, &bytes?)?;
            if !self.json {
                load::to_stderr(&terminal::render_blocks(document, document.first_page()));
            }
            load::to_stderr(&format!("{what} is in {}.\n", path.display()));
        }
        if let (Some(path), Some(bytes)) = (&self.annex, other) {
            write_whole(path, &bytes?)?;
            load::to_stderr(&format!("Its annex is in {}.\n", path.display()));
        }
        if let Some(path) = &self.tables {
            write_whole(path, &workbook(document, annex.as_ref())?)?;
            load::to_stderr(&format!("Its tables are in {}.\n", path.display()));
        }
        if let Some(folder) = &self.figures {
            let outputs = Outputs::new(folder);
            for (name, drawing) in figures::svgs(document) {
                outputs.write(&name, drawing.as_bytes())?;
            }
            load::to_stderr(&format!("Its drawings are in {}.\n", folder.display()));
        }
        Ok(())
    }
}

/// Every table of a document and of its annex, one sheet each.
#[cfg(feature = "xlsx")]
fn workbook(document: &Document, annex: Option<&Document>) -> Result<Vec<u8>, Stop> {
    let mut all = document.all_tables();
    all.extend(annex.into_iter().flat_map(Document::all_tables));
    let named: Vec<_> = all.iter().map(|(name, table)| (name.clone(), table)).collect();
    Ok(tables::workbook(&named)?)
}

/// This program was built without workbooks.
#[cfg(not(feature = "xlsx"))]
fn workbook(_document: &Document, _annex: Option<&Document>) -> Result<Vec<u8>, Stop> {
    Err(Stop::Could("this bywash was built without XLSX workbooks".to_owned()))
}

/// What a document found, with the tables of its parts.
pub(super) fn with_tables(mut found: Value, parts: &[&Document]) -> Value {
    let tables: Vec<_> = parts.iter().flat_map(|part| part.all_tables()).collect();
    found["tables"] = tables_json(&tables);
    found
}
