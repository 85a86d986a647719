//! What are the best flows and contents of streams that must balance, component by component?
//!
//! Each node balances in total and for each component, and the second kind holds products:
//!
//! ```text
//! Σ ± Fₛ = 0        Σ ± Fₛ wₛ꜀ = 0        Σ꜀ wₛ꜀ = 1 where the components are all there are
//! 0 ≤ Fₛ,           0 ≤ wₛ꜀ ≤ 1
//! ```
//! Readings of flows and of contents are reconciled together by [`reconcile_curved`]. What is not measured begins at what
//! the readings lead to: contents at the mean of what other streams of that component show, flows by least squares on
//! the balances with the contents so far, then contents again by their own balances with those flows.
//!
//! Flows are relative to one another unless one is measured or given: give one stream `Known(100.0)`. Readings are taken as
//! uncorrelated; sampling errors that two assays share make them agree better than they should.
//!
//! Source: Hodouin and Everell, Int. J. Miner. Process. 7 (1980) 91 (material balances of mineral processing); Crowe, AIChE
//! J. 32 (1986) 616 (bilinear reconciliation; from memory).

use super::LinearError;
use super::curved::{Curved, CurvedSettings, Excess, reconcile_curved};
use super::network::Network;
use crate::account::fit::Status;
use crate::account::gravimetric::Figure;
use faer::Mat;
use faer::linalg::solvers::{Llt, Solve};

/// What is known of a flow or of a content beforehand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// Nothing.
    Unmeasured,
    /// A reading with its standard uncertainty, > 0.
    Measured(Figure),
    /// Given exactly: the stream others are compared with, a component that cannot be there.
    Known(f64),
}

impl Reading {
    /// The value read or given.
    fn value(self) -> Option<f64> {
        match self {
            Self::Unmeasured => None,
            Self::Measured(figure) => Some(figure.value),
            Self::Known(value) => Some(value),
        }
    }
}

/// Streams between nodes, with their contents.
#[derive(Clone, Copy, Debug)]
pub struct Streams<'a> {
    /// One row for each node: 1 for a stream that comes in, −1 for one that goes out.
    pub nodes: &'a [Vec<f64>],
    /// Flow of each stream.
    pub flows: &'a [Reading],
    /// Contents of each stream: mass fraction of each component.
    pub contents: &'a [Vec<Reading>],
    /// Whether the components are all there are, so that the contents of a stream add up to 1.
    pub complete: bool,
}

/// Reconciled streams.
#[derive(Clone, Debug)]
pub struct ReconciledStreams {
    /// Flow of each stream; `None` where it is not to be known.
    pub flows: Vec<Option<Figure>>,
    /// Contents of each stream; `None` where they are not to be known.
    pub contents: Vec<Vec<Option<Figure>>>,
    /// Classes and tests of all values: flows first, then the contents stream by stream.
    pub network: Network,
    /// Largest open balance, of the size of its terms.
    pub excess: f64,
    /// Steps made.
    pub steps: usize,
    /// How the search ended.
    pub status: Status,
}

/// Reconciles flows and contents of streams.
///
/// # Errors
/// [`LinearError::Shape`] where lists do not fit each other or a value is not a number; otherwise as
/// [`reconcile_curved`].
///
/// # Source
/// Hodouin and Everell 1980.
///
/// ```
/// use engine::account::gravimetric::Figure;
/// use engine::account::linear::bilinear::{Reading, Streams, reconcile_streams};
/// // Two products of one feed, by the assays alone: the two-product formula of the trade, (f − t)/(c − t).
/// let assay = |percent: f64| vec![Reading::Measured(Figure { value: percent / 100.0, standard_uncertainty: 1e-5 })];
/// let streams = reconcile_streams(&Streams {
///     nodes: &[vec![1.0, -1.0, -1.0]],
///     flows: &[Reading::Known(100.0), Reading::Unmeasured, Reading::Unmeasured],
///     contents: &[assay(2.0), assay(20.0), assay(0.2)],
///     complete: false,
/// }).map_err(|e| format!("{e:?}"))?;
/// let concentrate = streams.flows[1].ok_or("fixed by the assays")?;
/// assert!((concentrate.value - 100.0 * (2.0 - 0.2) / (20.0 - 0.2)).abs() < 1e-6);
/// # Ok::<(), String>(())
/// ```
pub fn reconcile_streams(streams: &Streams<'_>) -> Result<ReconciledStreams, LinearError> {
    let (count, components) = (streams.flows.len(), streams.contents.first().map_or(0, Vec::len));
    let fits = streams.contents.len() == count
        && streams.contents.iter().all(|list| list.len() == components)
        && streams.nodes.iter().all(|row| row.len() == count);
    let all: Vec<Reading> = streams.flows.iter().chain(streams.contents.iter().flatten()).copied().collect();
    if !fits || count == 0 || all.iter().any(|r| r.value().is_some_and(|v| !v.is_finite())) {
        return Err(LinearError::Shape);
    }
    let variance = |reading: Reading| match reading {
        Reading::Measured(figure) => figure.standard_uncertainty.powi(2),
        _ => 0.0,
    };
    let measured: Vec<Option<f64>> =
        all.iter().map(|r| if let Reading::Measured(figure) = r { Some(figure.value) } else { None }).collect();
    let n = all.len();
    let covariance: Vec<Vec<f64>> =
        (0..n).map(|i| (0..n).map(|k| if i == k { variance(all[i]) } else { 0.0 }).collect()).collect();
    let bounds: Vec<(f64, f64)> = (0..n).map(|i| (0.0, if i < count { f64::INFINITY } else { 1.0 })).collect();
    let balances = |values: &[f64]| balances(streams, &all, values);
    let start = start(streams, components);
    let settings = CurvedSettings::default();
    let Curved { network, excess, steps, status, .. } =
        reconcile_curved(&measured, &covariance, &balances, &start, &bounds, &settings)?;
    let figure = |i: usize| {
        let (value, standard_uncertainty) = network.values[i].zip(network.standard_uncertainties[i])?;
        Some(Figure { value, standard_uncertainty })
    };
    Ok(ReconciledStreams {
        flows: (0..count).map(figure).collect(),
        contents: (0..count).map(|s| (0..components).map(|c| figure(count + s * components + c)).collect()).collect(),
        network,
        excess,
        steps,
        status,
    })
}

fn balances(streams: &Streams<'_>, all: &[Reading], values: &[f64]) -> Excess {
    let (count, n) = (streams.flows.len(), values.len());
    let components = n / count - 1;
    let mut found = Excess::default();
    let mut add = |excess: f64, entries: &[(usize, f64)]| {
        let mut row = vec![0.0; n];
        entries.iter().for_each(|(i, slope)| row[*i] += slope);
        found.excess.push(excess);
        found.slopes.push(row);
    };
    for node in streams.nodes {
        let part = |s: &usize| node[*s] != 0.0;
        let total: Vec<(usize, f64)> = (0..count).filter(part).map(|s| (s, node[s])).collect();
        add(total.iter().map(|(s, sign)| sign * values[*s]).sum(), &total);
        for c in 0..components {
            let content = |s: usize| count + s * components + c;
            let products: f64 = (0..count).filter(part).map(|s| node[s] * values[s] * values[content(s)]).sum();
            let slopes: Vec<(usize, f64)> = (0..count)
                .filter(part)
                .flat_map(|s| [(s, node[s] * values[content(s)]), (content(s), node[s] * values[s])])
                .collect();
            add(products, &slopes);
        }
    }
    if streams.complete {
        for s in 0..count {
            let entries: Vec<(usize, f64)> = (0..components).map(|c| (count + s * components + c, 1.0)).collect();
            add(entries.iter().map(|(i, _)| values[*i]).sum::<f64>() - 1.0, &entries);
        }
    }
    for (i, reading) in all.iter().enumerate() {
        if let Reading::Known(value) = reading {
            add(values[i] - value, &[(i, 1.0)]);
        }
    }
    found
}

/// Where the search begins: readings, and for the rest what they lead to.
fn start(streams: &Streams<'_>, components: usize) -> Vec<f64> {
    let count = streams.flows.len();
    let read = |s: usize, c: usize| streams.contents[s][c].value();
    let means: Vec<f64> = (0..components)
        .map(|c| {
            let list: Vec<f64> = (0..count).filter_map(|s| read(s, c)).collect();
            if list.is_empty() { 0.5 } else { list.iter().sum::<f64>() / list.len() as f64 }
        })
        .collect();
    let mut contents = Mat::from_fn(count, components, |s, c| read(s, c).unwrap_or(means[c]));
    let flows = first_flows(streams, &contents);
    // Contents that are not read, by the balances of their component with these flows.
    let typical = flows.iter().copied().fold(0.0, f64::max);
    for (c, mean) in means.iter().enumerate() {
        let open: Vec<usize> = (0..count).filter(|s| read(*s, c).is_none()).collect();
        let mut rows: Vec<(Vec<f64>, f64)> = open
            .iter()
            .map(|s| (open.iter().map(|k| if k == s { 1e-3 } else { 0.0 }).collect(), 1e-3 * mean))
            .collect();
        for node in streams.nodes {
            let settled: f64 = (0..count).filter_map(|s| read(s, c).map(|w| node[s] * flows[s] * w)).sum();
            rows.push((open.iter().map(|s| node[*s] * flows[*s] / typical).collect(), -settled / typical));
        }
        for (s, value) in open.iter().zip(least_squares(&rows, open.len())) {
            contents[(*s, c)] = value.clamp(1e-3, 1.0);
        }
    }
    flows
        .into_iter()
        .chain((0..count).flat_map(|s| (0..components).map(move |c| (s, c))).map(|at| contents[at]))
        .collect()
}

/// Flows by least squares: each reading, and each balance in units of what flows there, of components that are read in all
/// streams of the node.
fn first_flows(streams: &Streams<'_>, contents: &Mat<f64>) -> Vec<f64> {
    let count = streams.flows.len();
    let typical = streams.flows.iter().filter_map(|f| f.value()).fold(0.0f64, |a, f| a.max(f.abs()));
    let typical = if typical > 0.0 { typical } else { 1.0 };
    let mut rows: Vec<(Vec<f64>, f64)> = Vec::new();
    for (s, reading) in streams.flows.iter().enumerate() {
        let (weight, value) = reading.value().map_or((1e-3, 0.3), |value| (10.0, value / typical));
        rows.push(((0..count).map(|k| if k == s { weight } else { 0.0 }).collect(), weight * value));
    }
    for node in streams.nodes {
        rows.push((node.clone(), 0.0));
        for c in 0..contents.ncols() {
            let largest = (0..count).map(|s| contents[(s, c)]).fold(f64::MIN_POSITIVE, f64::max);
            if (0..count).all(|s| node[s] == 0.0 || streams.contents[s][c].value().is_some()) {
                rows.push(((0..count).map(|s| node[s] * contents[(s, c)] / largest).collect(), 0.0));
            }
        }
    }
    least_squares(&rows, count).iter().map(|f| f.clamp(1e-3, 1e3) * typical).collect()
}

/// Least squares by the normal equations; the rows are many enough to fix every value.
fn least_squares(rows: &[(Vec<f64>, f64)], count: usize) -> Vec<f64> {
    let mut normal = Mat::<f64>::zeros(count, count);
    let mut right = Mat::<f64>::zeros(count, 1);
    for (row, value) in rows {
        for i in 0..count {
            right[(i, 0)] += row[i] * value;
            for k in 0..count {
                normal[(i, k)] += row[i] * row[k];
            }
        }
    }
    match Llt::new(normal.as_ref(), faer::Side::Lower) {
        Ok(factor) => {
            let solved = factor.solve(&right);
            (0..count).map(|i| solved[(i, 0)]).collect()
        }
        Err(_) => vec![1.0; count],
    }
}
