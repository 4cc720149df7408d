//! The least pond that meets its duties.
