//! Sizes of a pond to choose among by a slider. Each stop is written out whole and the script only shows one of them, so that
//! it says what the program computed and nothing in between.

use maud::{Markup, html};

use crate::page::document::{Block, Table};
use crate::page::html::blocks::Writer;

/// A stop of the slider.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeStop {
    /// What it is called in the list to pick from: why it is there, and how much it holds.
    pub name: String,
    /// What is told when the slider comes to it.
    pub words: String,
    /// The choices it belongs to.
    pub choices: Vec<usize>,
    /// What it holds, m³: marks of other ponds stand among the stops by it.
    pub m3: f64,
    /// What stands below the slider then.
    pub blocks: Vec<Block>,
    /// Each duty, and how it comes out.
    pub duties: Table,
}

/// A pond that is marked on the slider: one of the stops, or one that holds so much.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeMark {
    /// What stands there: `the pond found`.
    pub words: String,
    /// The stop, where it is one.
    pub at: Option<usize>,
    /// What it holds, m³.
    pub m3: f64,
}

/// Sizes that were computed, the smallest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Sizes {
    /// What the pond the slider begins at is called: `The pond found`.
    pub itself: String,
    /// Which stop that is.
    pub at: usize,
    /// What the sizes are, and what they are not.
    pub about: String,
    /// Which of them one may want to see: the first is all.
    pub choices: Vec<String>,
    /// The stops.
    pub stops: Vec<SizeStop>,
    /// The ponds marked on the slider.
    pub marks: Vec<SizeMark>,
    /// What holds of every figure.
    pub note: String,
}

/// The height of a row of marks, px.
const MARK_HIGH: usize = 16;

impl Sizes {
    /// The slider, what stands at each of its stops, and the table.
    pub fn controls(&self, writer: &mut Writer<'_>) -> Markup {
        let most = self.stops.len().saturating_sub(1);
        let marks: Vec<&str> = self.marks.iter().map(|mark| mark.words.as_str()).collect();
        let marked = format!("Marked on the slider: {}", marks.join("; "));
        html! {
            section #sizes aria-labelledby="sizes-head" {
                h2 #sizes-head { "Other sizes" }
                p { (self.about) }
                div.pick {
                    @if self.choices.len() > 1 {
                        p {
                            label for="sizes-of" { "Which sizes " }
                            select #sizes-of {
                                @for (at, words) in self.choices.iter().enumerate() { option value=(at) { (words) } }
                            }
                        }
                    }
                    // The same stops by their names; the script leaves those that the choice above has.
                    p {
                        label for="size-list" { "Size " }
                        select #size-list {
                            @for (at, stop) in self.stops.iter().enumerate() {
                                option value=(at) selected[at == self.at] { (stop.name) }
                            }
                        }
                    }
                    div.slider {
                        label for="size-at" { "Size, from small to large" }
                        input #size-at type="range" min="0" max=(most) step="1" value=(self.at);
                        // The script puts each where its pond lies among the stops that are shown.
                        svg.marks #size-marks height=(MARK_HIGH * self.marks.len() + 4) role="img" aria-label=(marked) {
                            @for (row, mark) in self.marks.iter().enumerate() {
                                g data-at=[mark.at] data-m3=(mark.m3) {
                                    line y1="0" y2=(MARK_HIGH * row + 5) {}
                                    text y=(MARK_HIGH * (row + 1)) { (mark.words) }
                                }
                            }
                        }
                    }
                    p.buttons {
                        button type="button" #size-less { "Next smaller" }
                        button type="button" #size-more { "Next larger" }
                        button type="button" #size-itself data-at=(self.at) { (self.itself) }
                    }
                    // What stands below says the same to those who see it.
                    p.unseen #size-words role="status" {}
                }
                @for (at, stop) in self.stops.iter().enumerate() {
                    div.size id={ "size-" (at + 1) } data-words=(stop.words) data-of=(list(&stop.choices)) data-m3=(stop.m3) {
                        @for block in &stop.blocks { (writer.block(block)) }
                    }
                }
                details.behind #sizes-table open {
                    summary { "Every size that was run, duty by duty" }
                    p.small { "By volume, the smallest first. " (self.note) }
                    @for stop in &self.stops {
                        details { summary { (stop.words) } (writer.table(&stop.duties)) }
                    }
                }
            }
        }
    }
}

fn list(numbers: &[usize]) -> String {
    numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
}
