//! Kinds of solids, size classes, settling velocity by named method.
