//! Redundant meters reconciled by weighted least squares: plain matrices, no unit.

use thiserror::Error;

/// Why nothing is reconciled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum LeastSquaresError {
    /// A balance has not one factor per meter, or there is no balance.
    #[error("every balance needs one factor for every meter, and there must be a balance")]
    Shape,
    /// A standard deviation is not a number above zero.
    #[error("every meter needs a standard deviation above zero")]
    StandardDeviation,
    /// A reading or a factor is not a number.
    #[error("a reading or a factor of a balance is not a number")]
    NotANumber,
    /// One balance follows from the others, or has no meter in it.
    #[error("one balance follows from the others, or has no meter in it")]
    Dependent,
}

/// Reconciled meters. Record: [`crate::science::numerics::statistics::LEAST_SQUARES`].
#[derive(Debug, Clone, PartialEq)]
pub struct Reconciled {
    /// Flow of each meter, so that every balance closes.
    pub flows: Vec<f64>,
    /// Standard deviation of each reconciled flow; never above the meter's own.
    pub standard_deviations: Vec<f64>,
    /// Adjustment over its own standard deviation, by meter; zero where a meter stands in no balance. Beyond ±3 a meter
    /// (or a balance it stands in) is suspect.
    pub standardised_adjustments: Vec<f64>,
    /// What each balance was off by before: in less out.
    pub imbalances: Vec<f64>,
    /// Imbalance over its own standard deviation, by balance.
    pub standardised_imbalances: Vec<f64>,
    /// Misfit of all balances together.
    pub chi_square: f64,
    /// Degrees of freedom of the misfit: the number of balances.
    pub degrees_of_freedom: usize,
}

/// Reconciles `readings` with standard deviations so that every balance (one factor per meter: +1 in, −1 out) closes.
pub fn reconcile(
    readings: &[f64],
    standard_deviations: &[f64],
    balances: &[Vec<f64>],
) -> Result<Reconciled, LeastSquaresError> {
    let n = readings.len();
    if balances.is_empty() || standard_deviations.len() != n || balances.iter().any(|row| row.len() != n) {
        return Err(LeastSquaresError::Shape);
    }
    if !standard_deviations.iter().all(|sd| sd.is_finite() && *sd > 0.0) {
        return Err(LeastSquaresError::StandardDeviation);
    }
    if !readings.iter().chain(balances.iter().flatten()).all(|x| x.is_finite()) {
        return Err(LeastSquaresError::NotANumber);
    }
    let variances: Vec<f64> = standard_deviations.iter().map(|sd| sd * sd).collect();
    // A Σ, one row per balance, and the covariance of the imbalances, A Σ Aᵀ.
    let weighted: Vec<Vec<f64>> =
        balances.iter().map(|row| row.iter().zip(&variances).map(|(a, v)| a * v).collect()).collect();
    let covariance: Vec<Vec<f64>> =
        weighted.iter().map(|left| balances.iter().map(|right| dot(left, right)).collect()).collect();
    let inverse = invert(&covariance).ok_or(LeastSquaresError::Dependent)?;
    let imbalances: Vec<f64> = balances.iter().map(|row| dot(row, readings)).collect();
    let solved: Vec<f64> = inverse.iter().map(|row| dot(row, &imbalances)).collect();
    let chi_square = dot(&solved, &imbalances);
    let mut flows = Vec::with_capacity(n);
    let mut deviations = Vec::with_capacity(n);
    let mut adjustments = Vec::with_capacity(n);
    for (meter, (reading, variance)) in readings.iter().zip(&variances).enumerate() {
        let column: Vec<f64> = weighted.iter().map(|row| row.get(meter).copied().unwrap_or(0.0)).collect();
        let adjustment = -dot(&column, &solved);
        let gain: f64 = inverse.iter().zip(&column).map(|(row, c)| c * dot(row, &column)).sum();
        flows.push(reading + adjustment);
        deviations.push((variance - gain).max(0.0).sqrt());
        adjustments.push(if gain > 0.0 { adjustment / gain.sqrt() } else { 0.0 });
    }
    let standardised_imbalances = imbalances
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let own = covariance.get(i).and_then(|row| row.get(i)).copied().unwrap_or(f64::NAN);
            r / own.sqrt()
        })
        .collect();
    Ok(Reconciled {
        flows,
        standard_deviations: deviations,
        standardised_adjustments: adjustments,
        imbalances,
        standardised_imbalances,
        chi_square,
        degrees_of_freedom: balances.len(),
    })
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Inverse of a symmetric positive matrix by elimination with the largest pivot; nothing if it has none.
fn invert(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = matrix.len();
    let scale = matrix.iter().flatten().fold(0.0f64, |most, x| most.max(x.abs()));
    let mut rows: Vec<Vec<f64>> = matrix
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let unit = (0..n).map(|j| if i == j { 1.0 } else { 0.0 });
            row.iter().copied().chain(unit).collect()
        })
        .collect();
    for step in 0..n {
        let (best, size) = rows
            .iter()
            .enumerate()
            .skip(step)
            .map(|(i, row)| (i, row.get(step).map_or(0.0, |x| x.abs())))
            .fold((step, -1.0), |best, next| if next.1 > best.1 { next } else { best });
        if size.is_nan() || size <= 1e-12 * scale {
            return None;
        }
        rows.swap(step, best);
        let pivot_row: Vec<f64> = {
            let row = rows.get(step)?;
            let pivot = *row.get(step)?;
            row.iter().map(|x| x / pivot).collect()
        };
        for (i, row) in rows.iter_mut().enumerate() {
            if i == step {
                row.clone_from(&pivot_row);
            } else {
                let factor = *row.get(step)?;
                for (x, p) in row.iter_mut().zip(&pivot_row) {
                    *x -= factor * p;
                }
            }
        }
    }
    Some(rows.into_iter().map(|row| row.into_iter().skip(n).collect()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_meters_around_one_splitter_share_the_difference_by_their_variances() {
        // By hand: off by 3, variances 4, 1, 1: adjusted by −2, +0.5, +0.5; 3/√6 = 1.2247 deviations.
        let done = reconcile(&[100.0, 60.0, 37.0], &[2.0, 1.0, 1.0], &[vec![1.0, -1.0, -1.0]]).expect("one balance");
        for (got, expected) in done.flows.iter().zip([98.0, 60.5, 37.5]) {
            assert!((got - expected).abs() < 1e-12);
        }
        assert!((done.standardised_imbalances[0] - 1.224_744_871).abs() < 1e-9);
        assert!((done.standardised_adjustments[0].abs() - 1.224_744_871).abs() < 1e-9);
        assert!(done.standard_deviations.iter().zip([2.0, 1.0, 1.0]).all(|(after, before)| *after < before));
    }

    #[test]
    fn a_balance_said_twice_is_refused_not_solved_by_chance() {
        let twice = vec![vec![1.0, -1.0, -1.0], vec![2.0, -2.0, -2.0]];
        let readings = [100.0, 60.0, 37.0];
        assert_eq!(reconcile(&readings, &[2.0, 1.0, 1.0], &twice), Err(LeastSquaresError::Dependent));
        assert_eq!(reconcile(&readings, &[2.0, 0.0, 1.0], &twice), Err(LeastSquaresError::StandardDeviation));
        assert_eq!(reconcile(&readings, &[2.0, 1.0], &twice), Err(LeastSquaresError::Shape));
        assert_eq!(reconcile(&readings, &[2.0, 1.0, 1.0], &[]), Err(LeastSquaresError::Shape));
        assert_eq!(
            reconcile(&[f64::NAN, 60.0, 37.0], &[2.0, 1.0, 1.0], &[vec![1.0, -1.0, -1.0]]),
            Err(LeastSquaresError::NotANumber)
        );
    }

    #[test]
    fn a_meter_that_stands_in_no_balance_keeps_its_reading() {
        let done = reconcile(&[10.0, 9.0, 5.0], &[1.0, 1.0, 1.0], &[vec![1.0, -1.0, 0.0]]).expect("one balance");
        assert_eq!(done.flows[2], 5.0);
        assert_eq!(done.standardised_adjustments[2], 0.0);
        assert_eq!(done.standard_deviations[2], 1.0);
    }
}
