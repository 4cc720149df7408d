//! Media against sand: what the user typed of a layer's own figures.

/// Load that layers hold against the same depth of sand: the mean over their depths; a layer that says nothing holds what
/// sand holds. Layers are (depth, multiple).
pub fn load_against_sand(layers: impl IntoIterator<Item = (f64, Option<f64>)>) -> f64 {
    let (mut depth, mut held) = (0.0, 0.0);
    for (of, times) in layers {
        depth += of;
        held += of * times.unwrap_or(1.0);
    }
    if depth > 0.0 && held >= 0.0 { held / depth } else { 1.0 }
}

/// Wash flow that layers need against sand: that of the layer which needs most.
pub fn wash_against_sand(layers: impl IntoIterator<Item = Option<f64>>) -> f64 {
    let most = layers.into_iter().map(|times| times.unwrap_or(1.0)).fold(0.0, f64::max);
    if most > 0.0 { most } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thin_layer_of_another_medium_counts_by_its_depth() {
        // By hand: (24·1 + 12·1.1)/36 = 1.0333….
        let times = load_against_sand([(24.0, None), (12.0, Some(1.1))]);
        assert!((times - 1.033_333_333_333_333_3).abs() < 1e-15);
        assert_eq!(load_against_sand([]), 1.0);
    }

    #[test]
    fn the_layer_that_needs_most_sets_the_wash() {
        assert_eq!(wash_against_sand([None, Some(0.78)]), 1.0);
        assert_eq!(wash_against_sand([Some(0.78)]), 0.78);
        assert_eq!(wash_against_sand([]), 1.0);
    }
}
