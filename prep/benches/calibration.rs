//! Do the intervals of an account hold the truth as often as they say?
//!
//! Simulation-based calibration: runs of four preparations are simulated from the priors, accounted for as if nothing were
//! known of them, and the truth is compared with the intervals of 50 % and 90 %. A count of hits is binomial, so honest
//! intervals hold within three binomial standard errors, √(p (1 − p)/n). Where the truth lies among the 5, 25, 75 and 95 %
//! points is a rank of five classes; χ² with four degrees of freedom tells whether they are filled as they should be. The
//! uncertainty of quantiles of a finite cloud of draws is neglected, which errs towards too few hits.
//!
//! The simulated compositions go in turn through every combination that `may_hold` allows, with the extent of each
//! drawn from its prior, as an account takes all of them for alike probable.
//!
//! The probabilities of causes of a mass are tried likewise: mishaps are made up from the priors of the causes, and each
//! class of stated probabilities is held against the share that was true (`--mishaps N` of each preparation).
//!
//! Runs in which every unknown lies three times as far from its median as an honest draw are counted as well, a quarter
//! as many. The priors do not expect them, so their hits are told without a mark.
//!
//! `cargo bench -p prep --bench calibration -- --replicates 1000 --write` writes `benches/CALIBRATION.md`; without
//! arguments a few replicates are run as a quick look. `--from N` begins at another seed, `--only NAME` takes one preparation (`causes` takes none), `--each` lists every miss.
//!
//! Source: Cook, Gelman, Rubin, J. Comput. Graph. Stat. 15 (2006) 675; Talts et al. (2018), arXiv 1804.06788.

use prep::outcome::{Account, Interval};
use prep::{AccountSettings, Preparation, Truth};
use rayon::prelude::*;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use std::fmt::Write as _;
use std::io::Write as _;
use std::ops::Range;
use std::path::Path;
use std::time::Instant;

/// A preparation that is simulated.
struct Subject {
    name: &'static str,
    text: &'static str,
    /// Lots whose element is compared; the last one's mass as well.
    lots: [&'static str; 2],
}

const SUBJECTS: [Subject; 4] = [
    Subject {
        name: "bluestone: precipitate, portion ignited, bulk ignited",
        text: include_str!("../../examples/bluestone.toml"),
        lots: ["precipitate", "bulk"],
    },
    Subject {
        name: "lozenges: burnt off, washed, dried, four forms open",
        text: include_str!("../../examples/zinc-lozenges.toml"),
        lots: ["zinc oxide", "cake"],
    },
    Subject {
        name: "magnesia: basic carbonate, calcined, three forms open",
        text: include_str!("../../examples/epsom-magnesia.toml"),
        lots: ["magnesia", "magnesia alba"],
    },
    Subject {
        name: "white vitriol: crystals, two hydrates and moisture, a titre",
        text: include_str!("preparations/white-vitriol.toml"),
        lots: ["dry crystals", "crystals"],
    },
];
/// Particles of each composition in the printed account; the default.
const PRINTED: usize = 2000;
/// Replicates of a quick look.
const FEW: u64 = 20;
/// Quantities compared with the truth.
const COUNT: usize = 4;
/// The counted probabilities.
const LEVELS: [f64; 2] = [0.5, 0.9];
/// Shares of the five classes of a rank.
const CLASSES: [f64; 5] = [0.05, 0.2, 0.5, 0.2, 0.05];

/// Where the truth lies among the 5, 25, 75 and 95 % points of an interval.
type Bins = [usize; 5];

/// One account of one simulated run.
struct Told {
    kind: &'static str,
    slip: f64,
    decided_slip: bool,
    /// Bin of the truth, and the interval with the truth, for each quantity.
    bins: [usize; COUNT],
    intervals: Vec<(Interval, f64)>,
}

/// One simulated run.
struct Replicate {
    seed: u64,
    composition: usize,
    printed: Told,
    live: Told,
}

fn main() -> Result<(), String> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let flag = |name: &str| arguments.iter().any(|a| a == name);
    let number = |name: &str, usual: u64| match arguments.iter().position(|a| a == name) {
        Some(i) => arguments.get(i + 1).and_then(|n| n.parse().ok()).ok_or(format!("{name} wants a number")),
        None => Ok(usual),
    };
    let (replicates, from) = (number("--replicates", FEW)?, number("--from", 0)?);
    let begun = Instant::now();
    let mut page = HEAD.replace("SEED", &from.to_string()).replace("RUNS", &(4 * replicates).to_string());
    let only = arguments.iter().position(|a| a == "--only").and_then(|i| arguments.get(i + 1));
    for subject in SUBJECTS.iter().filter(|s| only.is_none_or(|name| s.name.starts_with(name.as_str()))) {
        let reading = prep::read(subject.text.as_bytes());
        let preparation = reading.preparation.ok_or_else(|| format!("{:?}", reading.findings))?;
        let honest = run(&preparation, subject, from..from + replicates, 1.0)?;
        let wide = run(&preparation, subject, from..from + replicates.div_ceil(4), 3.0)?;
        tell(&mut page, subject, &honest, &wide);
        if flag("--each") {
            misses(subject, &honest, &mut page).map_err(|error| error.to_string())?;
        }
        let _ = writeln!(std::io::stderr(), "{}: {:.0} s", subject.name, begun.elapsed().as_secs_f64());
    }
    if only.is_none_or(|name| name == "causes") {
        causes(&mut page, number("--mishaps", 4 * replicates)?)?;
        let _ = writeln!(std::io::stderr(), "causes: {:.0} s", begun.elapsed().as_secs_f64());
    }
    if flag("--write") {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../benches/CALIBRATION.md");
        std::fs::write(&path, &page).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    let _ = writeln!(page, "\n{} s.", begun.elapsed().as_secs());
    std::io::stdout().write_all(page.as_bytes()).map_err(|error| error.to_string())
}

/// Simulates and accounts for one run of each seed; `width` multiplies the distance of every unknown from its median.
fn run(preparation: &Preparation, subject: &Subject, seeds: Range<u64>, width: f64) -> Result<Vec<Replicate>, String> {
    seeds
        .into_par_iter()
        .map(|seed| {
            let (simulated, truth) = prep::simulate(preparation, seed, width).ok_or("nothing to account for")?;
            let settings = AccountSettings {
                particles: Some(PRINTED),
                without_suppositions: true,
                seed: Some(seed),
                ..AccountSettings::default()
            };
            Ok(Replicate {
                seed,
                composition: truth.composition,
                printed: compare(&prep::account(&simulated, &settings, &mut |_| {}), &truth, subject)?,
                live: compare(&prep::live_account(&simulated), &truth, subject)?,
            })
        })
        .collect()
}

fn names(subject: &Subject) -> [String; COUNT] {
    let [first, second] = subject.lots;
    [
        format!("element in {first}"),
        format!("element in {second}"),
        "overall yield".to_owned(),
        format!("mass of {second}"),
    ]
}

fn compare(account: &Account, truth: &Truth, subject: &Subject) -> Result<Told, String> {
    let told = |name: &str| account.lots.iter().find(|lot| lot.name == name).ok_or_else(|| format!("no lot {name}"));
    let known = |list: &[(String, f64)], name: &str| {
        list.iter().find(|(lot, _)| lot == name).map(|(_, value)| *value).ok_or_else(|| format!("no truth of {name}"))
    };
    let element = |name: &str| {
        told(name)?.elements.first().map(|e| e.mass.clone()).ok_or_else(|| format!("no element in {name}"))
    };
    let overall = account.yields.as_ref().ok_or("no yield")?.overall.clone();
    let [first, second] = subject.lots;
    let intervals = vec![
        (element(first)?, known(&truth.element, first)?),
        (element(second)?, known(&truth.element, second)?),
        (overall, truth.overall),
        (told(second)?.mass.clone(), known(&truth.masses, second)?),
    ];
    let mut bins = [0; COUNT];
    for (bin, (interval, value)) in bins.iter_mut().zip(&intervals) {
        let points = [interval.low, interval.lower_quartile, interval.upper_quartile, interval.high];
        *bin = points.iter().filter(|point| value > point).count();
    }
    let slips = || account.hypotheses.iter().filter(|h| h.id.starts_with("slip-"));
    Ok(Told {
        kind: account.method.kind,
        slip: slips().map(|h| h.probability).sum(),
        decided_slip: slips().any(|h| h.decided),
        bins,
        intervals,
    })
}

/// Counts the bins of one quantity.
fn counted<'a>(told: impl Iterator<Item = &'a Told>, quantity: usize) -> Bins {
    let mut bins = Bins::default();
    for one in told {
        bins[one.bins[quantity]] += 1;
    }
    bins
}

/// Hits of the 50 % and of the 90 % interval.
fn hits(bins: &Bins) -> [usize; 2] {
    [bins[2], bins[1] + bins[2] + bins[3]]
}

#[allow(clippy::cast_precision_loss)]
fn percent(part: usize, whole: usize) -> f64 {
    100.0 * part as f64 / whole.max(1) as f64
}

/// Three binomial standard errors, in percent.
#[allow(clippy::cast_precision_loss)]
fn allowance(level: f64, count: usize) -> f64 {
    300.0 * (level * (1.0 - level) / count.max(1) as f64).sqrt()
}

/// Probability of classes filled as unevenly as these by chance.
#[allow(clippy::cast_precision_loss)]
fn evenness(bins: &Bins) -> f64 {
    let n: usize = bins.iter().sum();
    let chi_squared: f64 = bins
        .iter()
        .zip(CLASSES)
        .map(|(found, share)| {
            let expected = share * n as f64;
            (*found as f64 - expected).powi(2) / expected.max(1e-9)
        })
        .sum();
    ChiSquared::new(4.0).map_or(f64::NAN, |law| law.sf(chi_squared))
}

fn tell(page: &mut String, subject: &Subject, honest: &[Replicate], wide: &[Replicate]) {
    let n = honest.len();
    let _ = writeln!(page, "## {}\n", subject.name);
    let _ = writeln!(
        page,
        "{n} honest runs: three binomial standard errors (SE) are ± {:.1} points about 50 %, ± {:.1} about 90 %.\n",
        allowance(LEVELS[0], n),
        allowance(LEVELS[1], n)
    );
    let pick = |runs: &'static str, list: &[Replicate], of: fn(&Replicate) -> &Told, page: &mut String, marked| {
        table(page, subject, runs, &list.iter().map(of).collect::<Vec<_>>(), marked);
    };
    pick("Printed account", honest, |r| &r.printed, page, true);
    pick("Live view", honest, |r| &r.live, page, true);
    let refining = honest.iter().filter(|r| r.live.kind != "live view").count();
    let slips = honest.iter().filter(|r| r.printed.slip > 0.5).count();
    let decided = honest.iter().filter(|r| r.printed.decided_slip).count();
    let _ = writeln!(
        page,
        "The live view says \"refining\" in {refining}. No simulated reading is a slip: {slips} accounts take one for the\n\
         more probable, {decided} call it decided.\n"
    );
    by_composition(page, subject, honest);
    pick("Wrong truths, three times as far from the median: printed account", wide, |r| &r.printed, page, false);
    let suspected = wide.iter().filter(|r| r.printed.slip > 0.5).count();
    let _ = writeln!(page, "In {suspected} of these a slip of the pen is the more probable account.\n");
}

fn table(page: &mut String, subject: &Subject, title: &str, told: &[&Told], marked: bool) {
    let n = told.len();
    let _ = writeln!(
        page,
        "**{title}** ({n} accounts)\n\n\
         | quantity | in 50 % | in 90 % | below 5 % | 5–25 % | 25–75 % | 75–95 % | above 95 % |{}\n\
         |---|---|---|---|---|---|---|---|{}",
        if marked { " ranks even by chance | within 3 SE |" } else { "" },
        if marked { "---|---|" } else { "" }
    );
    for (quantity, name) in names(subject).iter().enumerate() {
        let bins = counted(told.iter().copied(), quantity);
        let found = hits(&bins).map(|h| percent(h, n));
        let _ = write!(page, "| {name} | {:.1} % | {:.1} % |", found[0], found[1]);
        for bin in bins {
            let _ = write!(page, " {bin} |");
        }
        if marked {
            let holds = LEVELS.iter().zip(found).all(|(l, f)| (f - 100.0 * l).abs() <= allowance(*l, n));
            let _ = write!(page, " {:.3} | {} |", evenness(&bins), if holds { "yes" } else { "**no**" });
        }
        page.push('\n');
    }
    page.push('\n');
}

/// Hits of the printed account by the composition that was true.
fn by_composition(page: &mut String, subject: &Subject, honest: &[Replicate]) {
    let last = honest.iter().map(|r| r.composition).max().unwrap_or(0);
    if last == 0 {
        return;
    }
    page.push_str("Printed account by true composition, runs in 50 % and in 90 %:\n\n| composition | runs |");
    for name in names(subject) {
        let _ = write!(page, " {name} |");
    }
    page.push_str("\n|---|---|---|---|---|---|\n");
    for composition in 0..=last {
        let own: Vec<&Replicate> = honest.iter().filter(|r| r.composition == composition).collect();
        let _ = write!(page, "| {composition} | {} |", own.len());
        for quantity in 0..COUNT {
            let [half, most] = hits(&counted(own.iter().map(|r| &r.printed), quantity));
            let _ = write!(page, " {half}, {most} |");
        }
        page.push('\n');
    }
    page.push('\n');
}

/// Every honest run whose 90 % interval misses.
fn misses(subject: &Subject, honest: &[Replicate], page: &mut String) -> std::fmt::Result {
    let names = names(subject);
    for replicate in honest {
        for (way, told) in [("printed", &replicate.printed), ("live", &replicate.live)] {
            for (quantity, (interval, truth)) in told.intervals.iter().enumerate() {
                if ![0, 4].contains(&told.bins[quantity]) {
                    continue;
                }
                writeln!(
                    page,
                    "seed {} composition {} {way} ({}) slip {:.2}: {} truth {truth:.4}, {:.4} to {:.4}, z {:.2}",
                    replicate.seed,
                    replicate.composition,
                    told.kind,
                    told.slip,
                    names[quantity],
                    interval.low,
                    interval.high,
                    (truth - interval.median) / interval.standard_uncertainty
                )?;
            }
        }
    }
    Ok(())
}

/// Bounds of the classes of a stated probability.
const BOUNDS: [f64; 8] = [0.0, 0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 1.0];

/// Are the probabilities of causes as often right as they say? Mishaps are made up on all preparations that say what
/// their product was taken for.
fn causes(page: &mut String, mishaps: u64) -> Result<(), String> {
    let mut all: Vec<prep::Mishap> = Vec::new();
    for subject in &SUBJECTS {
        let reading = prep::read(subject.text.as_bytes());
        let preparation = reading.preparation.ok_or_else(|| format!("{:?}", reading.findings))?;
        let parts = 64u64;
        let each = mishaps.div_ceil(parts);
        let made: Vec<Vec<prep::Mishap>> =
            (0..parts).into_par_iter().map(|k| prep::mishaps(&preparation, k * each..(k + 1) * each)).collect();
        all.extend(made.into_iter().flatten());
    }
    let _ = writeln!(
        page,
        "## Causes of a mass: is a stated probability right as often as it says?\n\n\
         {} mishaps made up from the priors of the causes (nothing unusual, one cause, two, a slip, something else) on the\n\
         preparations that say what their product was taken for, each explained as if nothing were known. \"Stated\" is the mean\n\
         of the probabilities in a class, \"true\" the share of them that was what had happened, SE its binomial standard error.\n",
        all.len()
    );
    for (title, suspicious) in [("All masses", false), ("Masses that an account would call suspicious", true)] {
        let chosen: Vec<&prep::Mishap> = all.iter().filter(|m| m.suspicious || !suspicious).collect();
        reliability(page, title, &chosen);
    }
    Ok(())
}

#[allow(clippy::cast_precision_loss)]
fn reliability(page: &mut String, title: &str, mishaps: &[&prep::Mishap]) {
    let right = mishaps.iter().filter(|m| m.ways.first().is_some_and(|way| way.2)).count();
    let first: f64 = mishaps.iter().filter_map(|m| Some(m.ways.first()?.1)).sum();
    let n = mishaps.len();
    let _ = writeln!(
        page,
        "**{title}** ({n}): the way named first is the true one in {:.1} %, where {:.1} % is stated.\n\n\
         | stated between | ways | stated | true | SE | within 3 SE |\n|---|---|---|---|---|---|",
        percent(right, n),
        100.0 * first / n.max(1) as f64
    );
    for bounds in BOUNDS.windows(2) {
        let (low, high) = (bounds[0], bounds[1]);
        let last = high >= 1.0;
        let own: Vec<&(String, f64, bool)> =
            mishaps.iter().flat_map(|m| &m.ways).filter(|w| w.1 >= low && (w.1 < high || last)).collect();
        let count = own.len();
        if count == 0 {
            continue;
        }
        let stated = own.iter().map(|w| w.1).sum::<f64>() / count as f64;
        let truth = own.iter().filter(|w| w.2).count() as f64 / count as f64;
        let error = (stated * (1.0 - stated) / count as f64).sqrt();
        let _ = writeln!(
            page,
            "| {:.0} to {:.0} % | {count} | {:.2} % | {:.2} % | {:.2} | {} |",
            100.0 * low,
            100.0 * high,
            100.0 * stated,
            100.0 * truth,
            100.0 * error,
            if (truth - stated).abs() <= 3.0 * error { "yes" } else { "**no**" }
        );
    }
    page.push('\n');
}

const HEAD: &str = "# Do the intervals hold the truth as often as they say?\n\n\
Simulation-based calibration on four preparations, RUNS honest runs in all: figures are simulated from the priors,\n\
accounted for, and the truth compared with the intervals. Written by\n\
`cargo bench -p prep --bench calibration -- --replicates N --write`; the figures depend on the seeds (SEED and up) and\n\
not on the machine, but for the last digits of its arithmetic. \"Ranks even by chance\" is the probability of five\n\
classes as unevenly filled as these if the intervals are honest (χ², four degrees of freedom). Runs with wrong truths are\n\
told without a mark: no interval can be asked to hold there.\n\n\
All compositions that `may_hold` allows are alike probable before any reading, in the simulation as in the account.\n\n";
