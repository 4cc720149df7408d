//! bywash: a double-entry water ledger for growers who filter irrigation, return and storm water.
//!
//! Every cubic metre that leaves one place arrives at another, and so does every kilogram of solids in it. A
//! facility's description, its records and weather become a ledger; everything else reads the ledger.
//!
//! ```text
//!     facility.yaml   rules file   records/ (csv, xlsx)   weather   proposals/*.yaml   prices.yaml
//!          └──────────────┴───────────────┴─────────────────┴────────────┴────────────────┘
//!                       read + validate: every value knows its file and line
//!                                          │
//!                     balance: one day, a pure step ──▶ ledger (days × transfers)
//!                                          │
//!               rules: findings with evidence       compare / sizing: many balances
//!                                          │
//!            report document (no PDF in it) ──▶ PDF, terminal, JSON, CSV, XLSX
//! ```
//!
//! A room may use only the rooms that stand above it in this list; `tests/rooms.rs` enforces that.

// A print to a closed pipe panics: everything goes through `cli::load`.
#![cfg_attr(not(test), deny(clippy::print_stdout, clippy::print_stderr))]

pub mod quantity;

pub mod science;

pub mod told;

pub mod files;

pub mod filters;

pub mod facility;

pub mod weather;

pub mod records;

pub mod balance;

pub mod rules;

pub mod compare;

pub mod sizing;

pub mod page;

pub mod report;

pub mod cli;
