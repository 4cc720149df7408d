//! Which way the main stream goes: loops broken where least goes back, then a layer for each place.

/// The order of the places along the stream, so that as little weight as can be found goes back.
pub fn order(count: usize, arcs: &[(usize, usize, f32)]) -> Vec<usize> {
    let mut weight = vec![0.0_f32; count * count];
    for &(a, b, w) in arcs {
        weight[a * count + b] += w;
    }
    let mut order: Vec<usize> = start(count, arcs);
    for _ in 0..12 {
        let mut moved = false;
        for v in 0..count {
            let Some(now) = order.iter().position(|other| *other == v) else { continue };
            order.remove(now);
            // What goes back with `v` first of all, then what each step to the right changes.
            let mut back: f32 = order.iter().map(|u| weight[u * count + v]).sum();
            let mut backs = vec![back];
            for u in &order {
                back += weight[v * count + u] - weight[u * count + v];
                backs.push(back);
            }
            let least = backs.iter().copied().fold(f32::INFINITY, f32::min);
            let stays = backs[now] <= least + 1e-4;
            let best = if stays { now } else { backs.iter().position(|b| *b <= least + 1e-4).unwrap_or(now) };
            order.insert(best, v);
            moved |= best != now;
        }
        if !moved {
            break;
        }
    }
    order
}

/// Depth first from what nothing flows into, then from what is left in the user's order: each place after what it was
/// reached from.
fn start(count: usize, arcs: &[(usize, usize, f32)]) -> Vec<usize> {
    let mut next = vec![Vec::new(); count];
    let mut into = vec![0; count];
    for &(a, b, _) in arcs {
        next[a].push(b);
        into[b] += 1;
    }
    let mut done = Vec::new();
    let mut seen = vec![false; count];
    let heads = (0..count).filter(|v| into[*v] == 0);
    for head in heads.chain(0..count) {
        if seen[head] {
            continue;
        }
        seen[head] = true;
        let mut stack = vec![(head, 0)];
        while let Some((v, step)) = stack.pop() {
            match next[v].get(step).copied() {
                Some(to) => {
                    stack.push((v, step + 1));
                    if !seen[to] {
                        seen[to] = true;
                        stack.push((to, 0));
                    }
                }
                None => done.push(v),
            }
        }
    }
    done.reverse();
    // What nothing flows into stands at the head whatever else is moved.
    done.sort_by_key(|v| into[*v] > 0);
    done
}

/// The layer of each place: the longest way to it along the order, places of the first layers moved towards what they feed.
pub fn layers(count: usize, arcs: &[(usize, usize, f32)]) -> Vec<usize> {
    let order = order(count, arcs);
    let mut rank = vec![0; count];
    for (i, v) in order.iter().enumerate() {
        rank[*v] = i;
    }
    let onward: Vec<(usize, usize, f32)> = arcs.iter().copied().filter(|(a, b, _)| rank[*a] < rank[*b]).collect();
    let mut layer = vec![0_usize; count];
    for v in &order {
        for (_, b, _) in onward.iter().filter(|(a, ..)| a == v) {
            layer[*b] = layer[*b].max(layer[*v] + 1);
        }
    }
    for v in order.iter().rev() {
        let least = onward.iter().filter(|(a, ..)| a == v).map(|(_, b, _)| layer[*b]).min();
        let fed: f32 = onward.iter().filter(|(_, b, _)| b == v).map(|arc| arc.2).sum();
        let feeds: f32 = onward.iter().filter(|(a, ..)| a == v).map(|arc| arc.2).sum();
        if let Some(least) = least
            && feeds > fed
        {
            layer[*v] = layer[*v].max(least.saturating_sub(1));
        }
    }
    layer
}
