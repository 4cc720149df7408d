//! What must hold between places: lines, ends, loops, meters.

use crate::diagnostic::Problems;
use crate::facility::model::{Meter, SitePlace};

/// Checks everything that takes more than one place to see. A place that could not be read is `None`.
pub(super) fn all(_places: &[Option<SitePlace>], _meters: &[Meter], _problems: &Problems) {}
