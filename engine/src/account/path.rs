//! How do draws of a composition become a composition with one unknown?
//!
//! The draws are put in a row and cut into parts of equal weight; the means of the parts are the stations of a path, and
//! one unknown, uniform from 0 to 1, says how far along the composition lies. Draws of one group (a rival composition)
//! stay together, in the order of the figure that matters most, rising in one group and falling in the next, so that the
//! path is short. Every point of the path is a mean of draws: nothing is negative, and what all draws agree on (an
//! element that is known while the solid is open) stays known.
//! Neglected: what scatters between draws that the order leaves together; it is averaged.

/// Stations of a path.
pub const STATIONS: usize = 48;

/// Stations along weighted draws, one after the other.
///
/// | argument  | unit | range |
/// |-----------|------|-------|
/// | `rows`    | any  | finite, one after the other, `width` figures each |
/// | `weights` | 1    | ≥ 0, sum > 0, one for each row |
/// | `groups`  | 1    | number of the group of each row |
/// | `figure`  | any  | finite, the figure by which the rows of a group are ordered |
#[must_use]
pub fn path(rows: &[f64], width: usize, weights: &[f64], groups: &[usize], figure: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..weights.len()).filter(|i| weights[*i] > 0.0).collect();
    order.sort_by(|a, b| {
        let within = figure[*a].total_cmp(&figure[*b]);
        groups[*a].cmp(&groups[*b]).then(if groups[*a].is_multiple_of(2) { within } else { within.reverse() })
    });
    let whole: f64 = order.iter().map(|i| weights[*i]).sum();
    let share = whole / STATIONS as f64;
    let mut stations = vec![0.0; STATIONS * width];
    let (mut station, mut room) = (0, share);
    for i in order {
        let row = &rows[i * width..(i + 1) * width];
        let mut left = weights[i];
        while left > 0.0 {
            // The last station takes what rounding leaves over.
            let last = station + 1 == STATIONS;
            let part = if last { left } else { left.min(room) };
            let sums = &mut stations[station * width..(station + 1) * width];
            sums.iter_mut().zip(row).for_each(|(sum, x)| *sum += part / share * x);
            left -= part;
            room -= part;
            if room <= 0.0 && !last {
                station += 1;
                room = share;
            }
        }
    }
    stations
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two groups with the same sum: the sum is the same along the whole path, and the ends are in the groups.
    #[test]
    fn what_draws_agree_on_stays_known() {
        let draws: Vec<[f64; 3]> = (0..600)
            .map(|i| {
                let x = f64::from(i % 300) / 299.0;
                if i < 300 { [x, 1.0 - x, 0.0] } else { [0.0, x, 1.0 - x] }
            })
            .collect();
        let rows: Vec<f64> = draws.iter().flatten().copied().collect();
        let groups: Vec<usize> = (0..600).map(|i| i / 300).collect();
        let figure: Vec<f64> = draws.iter().map(|row| row[1]).collect();
        let stations = path(&rows, 3, &vec![1.0 / 600.0; 600], &groups, &figure);
        for station in stations.chunks_exact(3) {
            assert!((station.iter().sum::<f64>() - 1.0).abs() < 1e-9 && station.iter().all(|x| *x >= 0.0));
        }
        let quarter = &stations[11 * 3..12 * 3];
        assert!((quarter[1] - 0.5).abs() < 0.03, "half way up the first group: {quarter:?}");
        let mean: f64 = stations.chunks_exact(3).map(|s| s[1]).sum::<f64>() / STATIONS as f64;
        assert!((mean - 0.5).abs() < 1e-9);
    }

    #[test]
    fn one_draw_is_every_station() {
        let stations = path(&[2.0, 3.0], 2, &[0.7], &[0], &[0.0]);
        assert_eq!(stations.len(), 2 * STATIONS);
        assert!(stations.chunks_exact(2).all(|s| (s[0] - 2.0).abs() < 1e-12 && (s[1] - 3.0).abs() < 1e-12));
    }
}
