//! Density and viscosity of water by temperature.
