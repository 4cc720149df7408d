//! Whether an option is the site as it stands again: the same water, solids, washes, money and limits in every draw.

use crate::compare::{Category, Computed, Study};

impl Study {
    /// Whether an option changes nothing that is computed, bought or judged, whatever is known or doubted of the site.
    pub fn changes_nothing(&self, option: usize) -> bool {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option)) else { return false };
        option > 0
            && of.limits == first.limits
            && of.alternative.limits_gone.is_empty()
            && of.alternative.limits_not_judged.is_empty()
            && self.not_served(option).is_empty()
            && counts_alike(of, first)
            && self.capital_more(option, 0).values.iter().all(|more| *more == 0.0)
            && Category::ALL.iter().all(|of| self.cost_more(option, 0, *of).values.iter().all(|more| *more == 0.0))
    }
}

/// Whether two options have the same of everything that is counted, in every run.
fn counts_alike(a: &Computed, b: &Computed) -> bool {
    let (ours, theirs) = (&a.quantities.list, &b.quantities.list);
    let names = |of: &Computed| of.quantities.list.iter().map(|one| (one.kind, one.id.clone())).collect::<Vec<_>>();
    ours.len() == theirs.len() && a.amounts == b.amounts && names(a) == names(b)
}
