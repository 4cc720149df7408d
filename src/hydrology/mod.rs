//! Runoff, evaporation, storms over a sliding window.
