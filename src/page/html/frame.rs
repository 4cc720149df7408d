//! The file around the blocks: policy, style, typeface, script, landmarks, contents.

use std::sync::OnceLock;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, PreEscaped, html};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::page::document::{Block, Document, Heading};
use crate::page::fonts;
use crate::page::html::anchors::Anchors;
use crate::page::html::blocks::Writer;
use crate::page::html::{Answer, Page, Problems, Working};

/// What the file of a page begins with; a file that begins otherwise is never replaced by one.
pub const MARK: &str = "<!doctype html>\n<!-- made by bywash page -->\n";

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");
/// The script of a page with the picture by the day: only there.
const DAYS: &str = include_str!("days.js");
/// The script of a page that answers at other prices: only there.
const ANSWER: &str = include_str!("answer.js");
/// The script of a page with sizes to choose among: only there.
const SIZES: &str = include_str!("sizes.js");

/// The scripts that a page has beside the one of every page.
fn more_scripts(page: &Page) -> impl Iterator<Item = &'static str> {
    let all = [(page.days.is_some(), DAYS), (page.answer.is_some(), ANSWER), (page.sizes.is_some(), SIZES)];
    all.into_iter().filter(|(needed, _)| *needed).map(|(_, script)| script)
}

/// The style with the report's typeface in it.
fn style() -> &'static str {
    static WHOLE: OnceLock<String> = OnceLock::new();
    WHOLE.get_or_init(|| {
        let face = |cut: &str, bytes: &[u8]| {
            let data = STANDARD.encode(bytes);
            format!("@font-face{{font-family:\"Noto Sans\";{cut}src:url(data:font/ttf;base64,{data})}}\n")
        };
        let faces = [
            face("", fonts::REGULAR),
            face("font-weight:700;", fonts::BOLD),
            face("font-style:italic;", fonts::ITALIC),
        ];
        format!("{}{STYLE}", faces.concat())
    })
}

/// A digest as a policy names it.
fn digest(text: &str) -> String {
    format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text.as_bytes())))
}

/// What the browser is to let the page do: its own style, script and typeface, and nothing else.
fn policy(page: &Page) -> String {
    let scripts: Vec<String> = std::iter::once(SCRIPT).chain(more_scripts(page)).map(digest).collect();
    format!(
        "default-src 'none'; script-src {}; style-src {}; font-src data:; base-uri 'none'; form-action 'none'",
        scripts.join(" "),
        digest(style())
    )
}

/// JSON that can't end the element it stands in.
fn inert(value: &Value) -> String {
    value.to_string().replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}

/// How the page was made, for whoever makes it again.
fn made(page: &Page) -> Option<String> {
    serde_json::to_string(page.document.as_ref()?.made.as_ref()?).ok()
}

/// The page as one file.
pub fn render(page: &Page) -> String {
    let documents: Vec<&Document> = page.document.iter().chain(&page.annex).collect();
    let mut anchors = Anchors::of(&documents);
    let days = page.days.as_ref().map(|days| days.named(&mut anchors));
    let mut writer = Writer::new(page, &anchors, days.as_ref());
    let parts: Vec<(Vec<Part<'_>>, Markup)> = documents
        .iter()
        .enumerate()
        .map(|(number, document)| {
            writer.part = number;
            let parts = parts(document);
            let markup = html! {
                @for (at, part) in parts.iter().enumerate() {
                    (section(&mut writer, part))
                    @if let Some(answer) = page.answer.as_ref().filter(|_| number == 0 && at == 0) { (answer.controls()) }
                    @if let Some(sizes) = page.sizes.as_ref().filter(|_| number == 0 && at == before_sizes(&parts)) {
                        (sizes.controls(&mut writer))
                    }
                }
            };
            (parts, markup)
        })
        .collect();
    let data = json!({
        "days": days.as_ref().map(|named| named.json()),
        "answer": page.answer.as_ref().map(Answer::json),
        "charts": writer.charts,
        "workings": page.workings.iter().map(|working| worked(working, &anchors)).collect::<Vec<_>>(),
    });
    let (title, language) =
        documents.first().map_or(("", "en"), |document| (document.title.as_str(), document.language.as_str()));
    let facility = documents.first().map_or("", |document| document.facility.as_str());
    let body = html! {
        html lang=(language) {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy(page));
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="referrer" content="no-referrer";
                @if let Some(made) = made(page) { meta name="made" content=(made); }
                title { (title) ": " (facility) }
                style { (PreEscaped(style())) }
            }
            body data-watched[page.watched] {
                a.skip href="#content" { "To the content" }
                (head(page, &documents))
                nav aria-label="Contents" {
                    @if page.document.is_some() {
                        (search())
                        (contents(&parts, &anchors, page))
                    }
                }
                main id="content" tabindex="-1" {
                    @for (number, (_, markup)) in parts.iter().enumerate() {
                        article aria-label=(documents.get(number).map_or("", |document| document.title.as_str())) {
                            @if number > 0 {
                                h2.annex id="annex" { (documents.get(number).map_or("", |document| document.title.as_str())) }
                            }
                            (markup)
                        }
                    }
                }
                footer {
                    p { "The holder’s own figures. The permitting authority decides." }
                    @if let Some(document) = documents.first() {
                        p.small { "Made from files whose SHA-256 together begins with " (short(&document.digest)) "." }
                    }
                }
                dialog #working aria-labelledby="working-title" {
                    form method="dialog" { button type="submit" { "Close" } }
                    h2 #working-title {}
                    div #working-body {}
                }
                script #data type="application/json" { (PreEscaped(inert(&data))) }
                script { (PreEscaped(SCRIPT)) }
                @for script in more_scripts(page) { script { (PreEscaped(script)) } }
            }
        }
    };
    format!("{MARK}{}\n", body.into_string())
}

fn short(digest: &str) -> String {
    digest.chars().take(8).collect()
}

fn head(page: &Page, documents: &[&Document]) -> Markup {
    html! {
        header {
            @if let Some(problems) = &page.problems { (told(problems)) }
            @if let Some(document) = documents.first() {
                h1 { (document.title) }
                @if document.working_copy {
                    p.working-copy { strong { "Working copy: the data are not complete." } }
                }
                dl.head {
                    div { dt { "Facility" } dd { (document.facility) } }
                    div { dt { "Period" } dd { (document.period) } }
                    @for (label, words) in &document.permit_lines { div { dt { (label) } dd { (words) } } }
                }
            }
        }
    }
}

fn told(problems: &Problems) -> Markup {
    html! {
        section.problems aria-label="Problems in the files" role="status" {
            p { strong { (problems.head) } }
            @if !problems.lines.is_empty() {
                ul { @for line in &problems.lines { li { (line) } } }
            }
        }
    }
}

fn search() -> Markup {
    html! {
        form.search role="search" {
            label for="search" { "Search" }
            input #search type="search" autocomplete="off" aria-describedby="search-help" aria-controls="found";
            p.small #search-help { "a place, a limit, a day, a paper’s number, any word" }
            p.small #found-count role="status" {}
            ul #found {}
        }
    }
}

fn contents(parts: &[(Vec<Part<'_>>, Markup)], anchors: &Anchors, page: &Page) -> Markup {
    html! {
        details #contents { summary { "Contents" }
        ol.contents {
            @if page.answer.is_some() { li { a href="#answer" { "At other prices and lives" } } }
            @if page.days.is_some() { li { a href="#site" { "The site by the day" } } }
            @for (number, (parts, _)) in parts.iter().enumerate() {
                @if number > 0 { li { a href="#annex" { "Annex" } } }
                @for (at, part) in parts.iter().enumerate() {
                    @if let Some(name) = part.heading.and_then(|heading| anchors.find(number, &heading.anchor)) {
                        li class=[(number > 0).then_some("deep")] {
                            a href={ "#" (name) } { (part.heading.map_or("", |heading| heading.text.as_str())) }
                        }
                    }
                    @if page.sizes.is_some() && number == 0 && at == before_sizes(parts) {
                        li { a href="#sizes" { "Other sizes" } }
                    }
                }
            }
        } }
    }
}

/// The part that the sizes to choose among come after: the second, behind how big the pond is and what governs it.
fn before_sizes(parts: &[Part<'_>]) -> usize {
    parts.len().min(2).saturating_sub(1)
}

/// What stands under one heading of the second level.
struct Part<'a> {
    heading: Option<&'a Heading>,
    blocks: &'a [Block],
}

fn parts(document: &Document) -> Vec<Part<'_>> {
    let begins = |block: &Block| matches!(block, Block::Heading(heading) if heading.level <= 2);
    let mut parts = Vec::new();
    let mut rest = document.blocks.as_slice();
    while let Some(first) = rest.first() {
        let heading = match first {
            Block::Heading(heading) if heading.level <= 2 => Some(heading),
            _ => None,
        };
        let end = rest.iter().skip(1).position(begins).map_or(rest.len(), |at| at + 1);
        let (blocks, after) = rest.split_at(end);
        parts.push(Part {
            heading,
            blocks: if heading.is_some() { blocks.get(1..).unwrap_or_default() } else { blocks },
        });
        rest = after;
    }
    parts
}

fn section(writer: &mut Writer<'_>, part: &Part<'_>) -> Markup {
    html! {
        section.part {
            @match part.heading { Some(heading) => (writer.heading(heading)), None => h2.unseen { "Summary" } }
            @for block in part.blocks { (writer.block(block)) }
        }
    }
}

fn worked(working: &Working, anchors: &Anchors) -> Value {
    let windows: Vec<Value> = working
        .windows
        .iter()
        .map(|window| {
            json!([
                window.label,
                window.outcome,
                window.figure,
                window.basis,
                window.arithmetic,
                window.evidence,
                window.missing
            ])
        })
        .collect();
    json!({
        "id": anchors.find(0, &working.anchor),
        "title": working.title,
        "words": working.words,
        "windows": windows,
    })
}
