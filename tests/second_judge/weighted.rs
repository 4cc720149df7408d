//! Quotients whose ends are found over all values in the intervals: flow-weighted means and percent removal.

use super::exact::{End, Known, Rat};

/// Σ c·q ÷ Σ q. The quotient is monotone in each c and in each q, so that its ends stand at ends of the intervals; a flow
/// without an upper end can pull the mean as near to its own concentration as it likes.
pub fn mean(terms: &[(Known, Known)]) -> Option<Known> {
    let can_flow = |q: &Known| q.hi > End::ZERO;
    let terms: Vec<&(Known, Known)> = terms.iter().filter(|(_, q)| can_flow(q)).collect();
    if terms.is_empty() {
        return None;
    }
    let extreme = |end: fn(&Known) -> End, better: fn(End, End) -> bool| -> End {
        let mut best: Option<End> = None;
        let mut offer = |found: End| {
            if best.is_none_or(|best| better(found, best)) {
                best = Some(found);
            }
        };
        for (c, q) in &terms {
            if q.hi == End::Above {
                offer(end(c));
            }
        }
        // At the best point the flows with the better concentrations are at their most, the others at their least.
        let mut order: Vec<&&(Known, Known)> = terms.iter().collect();
        order.sort_by(|a, b| {
            let (a, b) = (end(&a.0), end(&b.0));
            if better(a, b) {
                std::cmp::Ordering::Less
            } else if better(b, a) {
                std::cmp::Ordering::Greater
            } else {
                std::cmp::Ordering::Equal
            }
        });
        for cut in 0..=order.len() {
            let (mut above, mut below) = (Some(Rat::ZERO), Rat::ZERO);
            let mut whole = true;
            for (i, (c, q)) in order.iter().map(|term| (&term.0, &term.1)).enumerate() {
                let flow = if i < cut { q.hi } else { q.lo };
                let Some(flow) = flow.rat() else {
                    whole = false;
                    break;
                };
                if flow == Rat::ZERO {
                    continue;
                }
                above = above.zip(end(c).rat()).map(|(sum, c)| sum + c * flow);
                below = below + flow;
            }
            if whole && below > Rat::ZERO {
                offer(above.map_or(End::Above, |above| End::At(above / below)));
            }
        }
        best.expect("some term can flow")
    };
    let hi = extreme(|c| c.hi, |a, b| a > b);
    let lo = extreme(|c| c.lo, |a, b| a < b);
    let counted = terms.iter().try_fold((Rat::ZERO, Rat::ZERO), |sum, (c, q)| {
        let flow = (q.lo == q.hi).then(|| q.lo.rat()).flatten()?;
        Some((sum.0 + c.counted? * flow, sum.1 + flow))
    });
    let counted = counted.filter(|(_, flow)| *flow > Rat::ZERO).map(|(sum, flow)| sum / flow);
    Some(Known { lo, hi, counted: if lo == hi { lo.rat() } else { counted } })
}

/// 100 (1 − mean out ÷ mean in) of pairs (in, out) of the same days.
pub fn removal(pairs: &[(Known, Known)]) -> Known {
    let ins: Vec<Known> = pairs.iter().map(|pair| pair.0).collect();
    let outs: Vec<Known> = pairs.iter().map(|pair| pair.1).collect();
    let (came, left) = (Known::sum(&ins), Known::sum(&outs));
    let hundred = Rat::whole(100);
    let removed = |left: Rat, came: Rat| hundred - hundred * left / came;
    let lo = match (left.hi, came.lo) {
        (_, End::At(Rat::ZERO)) | (End::Above, _) => End::Below,
        (End::At(left), End::At(came)) => End::At(removed(left, came)),
        _ => End::Below,
    };
    let hi = match (left.lo, came.hi) {
        // Nothing entered: not defined.
        (_, End::At(Rat::ZERO)) => End::Above,
        (_, End::Above) => End::At(hundred),
        (End::At(left), End::At(came)) => End::At(removed(left, came)),
        _ => End::At(hundred),
    };
    let counted =
        left.counted.zip(came.counted).filter(|(_, came)| *came > Rat::ZERO).map(|(left, came)| removed(left, came));
    Known { lo, hi, counted }
}
