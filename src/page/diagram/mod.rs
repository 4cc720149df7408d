//! The site's picture: where places stand, the ways between them, their figures, and the drawing of it.
//!
//! 1. `stream` breaks loops where least water goes back, and gives each place a layer (Sugiyama, Tagawa and Toda, IEEE
//!    Transactions on Systems, Man, and Cybernetics 11, 1981; loops by sifting as Matuszewski, Schönfeld and Molitor do
//!    for layers, 1999).
//! 2. `place` folds the layers into rows of the page and exchanges places while crossings and lengths become fewer.
//! 3. `route` finds each way over a grid of tracks, square, with a price on corners and on crossings (Lee 1961; Hart,
//!    Nilsson and Raphael 1968), and takes ways up again one at a time until none becomes better.
//! 4. `label` finds room for the figures, `draw` draws the sheet, `key` explains it.

mod draw;
mod frame;
mod key;
mod label;
mod net;
mod place;
mod route;
mod sheet;
mod split;
mod stream;
#[cfg(test)]
mod tests;
mod words;

pub use draw::draw;
pub use sheet::{PlacedName, PlacedPlace, Routed, Sheet, sheets};
