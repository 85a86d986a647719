//! Do the intervals of an account hold the truth as often as they say?
//!
//! Simulation-based calibration: runs of the bluestone example are simulated from the priors, accounted for as if
//! nothing were known of them, and the truth is compared with the intervals of 50 % and 90 %. A count of hits is
//! binomial, so honest intervals hold within three binomial standard errors, √(p (1 − p)/n). The uncertainty of
//! quantiles of a finite cloud of draws is neglected, which errs towards too few hits.
//!
//! The simulated compositions go in turn through every combination that `may_hold` allows, with the extent of each
//! drawn from its prior. An account weighs only the smallest compositions that fit, so its prior over compositions is
//! not the one simulated from: what that costs is seen where hits are counted by composition.
//!
//! Runs in which every unknown lies three times as far from its median as an honest draw are counted as well. The
//! priors do not expect them, so their hits are told without a mark.
//!
//! `cargo bench -p prep --bench calibration -- --replicates 500 --write` writes `benches/CALIBRATION.md`; without
//! arguments a few replicates are run as a quick look. `--from N` begins at another seed, `--each` lists every miss.
//!
//! Source: Cook, Gelman, Rubin, J. Comput. Graph. Stat. 15 (2006) 675; Talts et al. (2018), arXiv 1804.06788.

use prep::outcome::{Account, Interval};
use prep::{AccountSettings, Preparation, Truth};
use std::fmt::Write as _;
use std::io::Write as _;
use std::ops::Range;
use std::path::Path;
use std::time::Instant;

const EXAMPLE: &str = include_str!("../../examples/bluestone.toml");
/// Particles of each composition in the first sampled figures.
const FIRST: usize = 500;
/// Particles of each composition in the printed account; the default.
const PRINTED: usize = 2000;
/// Replicates of a quick look.
const FEW: u64 = 20;
/// What is compared with the truth.
const QUANTITIES: [&str; 4] = ["Cu in precipitate, g", "Cu in copper oxide, g", "overall yield, %", "mass of bulk, g"];
/// The counted probabilities.
const LEVELS: [f64; 2] = [0.5, 0.9];

/// Where the truth lies among the 5, 25, 75 and 95 % points of an interval.
type Bins = [usize; 5];

/// One account of one simulated run.
struct Told {
    kind: &'static str,
    slip: f64,
    decided_slip: bool,
    /// Bin of the truth, and the interval with the truth, for each quantity.
    bins: [usize; QUANTITIES.len()],
    intervals: Vec<(Interval, f64)>,
}

/// One simulated run.
struct Replicate {
    seed: u64,
    composition: usize,
    first: Told,
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
    let seeds = from..from.saturating_add(replicates);
    let reading = prep::read(EXAMPLE.as_bytes());
    let preparation = reading.preparation.ok_or_else(|| format!("{:?}", reading.findings))?;
    let begun = Instant::now();
    let honest = run(&preparation, seeds.clone(), 1.0)?;
    let wide = run(&preparation, seeds, 3.0)?;
    let seconds = begun.elapsed().as_secs_f64();
    let mut page = page(&honest, &wide, from);
    if flag("--write") {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../benches/CALIBRATION.md");
        std::fs::write(&path, &page).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    if flag("--each") {
        misses(&honest, &mut page).map_err(|error| error.to_string())?;
    }
    let _ = writeln!(page, "\n{} accounts in {seconds:.0} s.", 6 * replicates);
    std::io::stdout().write_all(page.as_bytes()).map_err(|error| error.to_string())
}

/// Simulates and accounts for one run of each seed; `width` multiplies the distance of every unknown from its median.
fn run(preparation: &Preparation, seeds: Range<u64>, width: f64) -> Result<Vec<Replicate>, String> {
    let mut list = Vec::new();
    for seed in seeds.clone() {
        let (simulated, truth) = prep::simulate(preparation, seed, width).ok_or("nothing to account for")?;
        let sampled = |particles: usize| {
            let settings = AccountSettings { particles: Some(particles), without_suppositions: true, seed: Some(seed) };
            compare(&prep::account(&simulated, &settings, &mut |_| {}), &truth)
        };
        list.push(Replicate {
            seed,
            composition: truth.composition,
            first: sampled(FIRST)?,
            printed: sampled(PRINTED)?,
            live: compare(&prep::live_account(&simulated), &truth)?,
        });
        if (seed + 1) % 50 == 0 {
            let _ = writeln!(std::io::stderr(), "seed {seed} of {seeds:?}, width {width}");
        }
    }
    Ok(list)
}

fn compare(account: &Account, truth: &Truth) -> Result<Told, String> {
    let told = |name: &str| account.lots.iter().find(|lot| lot.name == name).ok_or_else(|| format!("no lot {name}"));
    let known = |list: &[(String, f64)], name: &str| {
        list.iter().find(|(lot, _)| lot == name).map(|(_, value)| *value).ok_or_else(|| format!("no truth of {name}"))
    };
    let copper = |name: &str| {
        told(name)?.elements.first().map(|e| e.mass.clone()).ok_or_else(|| format!("no element in {name}"))
    };
    let overall = account.yields.as_ref().ok_or("no yield")?.overall.clone();
    let intervals = vec![
        (copper("precipitate")?, known(&truth.element, "precipitate")?),
        (copper("copper oxide")?, known(&truth.element, "copper oxide")?),
        (overall, truth.overall),
        (told("bulk")?.mass.clone(), known(&truth.masses, "bulk")?),
    ];
    let mut bins = [0; QUANTITIES.len()];
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

fn page(honest: &[Replicate], wide: &[Replicate], from: u64) -> String {
    let mut page = HEAD.replace("SEED", &from.to_string());
    let n = honest.len();
    let _ = writeln!(
        page,
        "{n} simulated runs, suppositions left out. Three binomial standard errors (SE): ± {:.1} points about 50 %,\n\
         ± {:.1} points about 90 %.\n",
        allowance(LEVELS[0], n),
        allowance(LEVELS[1], n)
    );
    page.push_str("## Honest runs\n\n");
    let refused = honest.iter().filter(|r| r.live.kind != "live view").count();
    three_tables(&mut page, honest, true);
    let trusted: Vec<&Told> = honest.iter().map(|r| &r.live).filter(|t| t.kind == "live view").collect();
    table(&mut page, &format!("Live view where it does not say \"refining\" ({refused} do)"), &trusted, true);
    narrower(&mut page, honest);
    by_slip(&mut page, honest);
    by_composition(&mut page, honest);
    page.push_str(WIDE);
    three_tables(&mut page, wide, false);
    let suspected = wide.iter().filter(|r| r.printed.slip > 0.5).count();
    let _ =
        writeln!(page, "In {suspected} of these {} runs a slip of the pen is the more probable account.", wide.len());
    page
}

fn three_tables(page: &mut String, runs: &[Replicate], marked: bool) {
    let pick = |of: fn(&Replicate) -> &Told| runs.iter().map(of).collect::<Vec<_>>();
    table(page, &format!("Printed account, {PRINTED} particles"), &pick(|r| &r.printed), marked);
    table(page, &format!("First sampled figures, {FIRST} particles"), &pick(|r| &r.first), marked);
    table(page, "Live view", &pick(|r| &r.live), marked);
}

/// How much narrower few particles make the intervals: mean ratio of standard uncertainties on the same runs.
#[allow(clippy::cast_precision_loss)]
fn narrower(page: &mut String, honest: &[Replicate]) {
    let mean = |quantity: usize, of: fn(&Replicate) -> &Told| {
        let ratio = |r: &Replicate| {
            of(r).intervals[quantity].0.standard_uncertainty / r.printed.intervals[quantity].0.standard_uncertainty
        };
        honest.iter().map(ratio).sum::<f64>() / honest.len().max(1) as f64
    };
    page.push_str("Standard uncertainty over that of the printed account, mean over the runs:\n\n");
    let _ = writeln!(page, "| quantity | {FIRST} particles | live view |\n|---|---|---|");
    for (quantity, name) in QUANTITIES.iter().enumerate() {
        let _ = writeln!(page, "| {name} | {:.3} | {:.3} |", mean(quantity, |r| &r.first), mean(quantity, |r| &r.live));
    }
    page.push('\n');
}

fn table(page: &mut String, title: &str, told: &[&Told], marked: bool) {
    let n = told.len();
    let _ = writeln!(
        page,
        "**{title}** ({n} accounts)\n\n\
         | quantity | in 50 % | in 90 % | below 5 % | 5–25 % | 25–75 % | 75–95 % | above 95 % |{}\n\
         |---|---|---|---|---|---|---|---|{}",
        if marked { " within 3 SE |" } else { "" },
        if marked { "---|" } else { "" }
    );
    for (quantity, name) in QUANTITIES.iter().enumerate() {
        let bins = counted(told.iter().copied(), quantity);
        let found = hits(&bins).map(|h| percent(h, n));
        let _ = write!(page, "| {name} | {:.1} % | {:.1} % |", found[0], found[1]);
        for bin in bins {
            let _ = write!(page, " {bin} |");
        }
        if marked {
            let holds = LEVELS.iter().zip(found).all(|(l, f)| (f - 100.0 * l).abs() <= allowance(*l, n));
            let _ = write!(page, " {} |", if holds { "yes" } else { "**no**" });
        }
        page.push('\n');
    }
    page.push('\n');
}

fn by_slip(page: &mut String, honest: &[Replicate]) {
    let sampled = || honest.iter().flat_map(|r| [&r.first, &r.printed]);
    let _ = writeln!(
        page,
        "No simulated reading is a slip. Of {} sampled accounts {} carry a slip as a case, {} take it for the more\n\
         probable, {} call it decided; {} are unfinished.\n",
        sampled().count(),
        sampled().filter(|t| t.slip > 0.0).count(),
        sampled().filter(|t| t.slip > 0.5).count(),
        sampled().filter(|t| t.decided_slip).count(),
        sampled().filter(|t| t.kind != "sampled").count()
    );
}

/// Hits of the printed account by the composition that was true.
fn by_composition(page: &mut String, honest: &[Replicate]) {
    page.push_str("### Printed account by true composition\n\n");
    page.push_str(
        "Runs in 50 % and in 90 %. Compositions are numbered by rising number of free unknowns, as the account\n\
         takes them up.\n\n| composition | runs |",
    );
    for name in QUANTITIES {
        let _ = write!(page, " {name} |");
    }
    page.push_str("\n|---|---|---|---|---|---|\n");
    let last = honest.iter().map(|r| r.composition).max().unwrap_or(0);
    for composition in 0..=last {
        let own: Vec<&Replicate> = honest.iter().filter(|r| r.composition == composition).collect();
        let _ = write!(page, "| {composition} | {} |", own.len());
        for quantity in 0..QUANTITIES.len() {
            let [half, most] = hits(&counted(own.iter().map(|r| &r.printed), quantity));
            let _ = write!(page, " {half}, {most} |");
        }
        page.push('\n');
    }
    page.push('\n');
}

/// Every honest run whose 90 % interval misses.
fn misses(honest: &[Replicate], page: &mut String) -> std::fmt::Result {
    for replicate in honest {
        for (way, told) in [("first", &replicate.first), ("printed", &replicate.printed), ("live", &replicate.live)] {
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
                    QUANTITIES[quantity],
                    interval.low,
                    interval.high,
                    (truth - interval.median) / interval.standard_uncertainty
                )?;
            }
        }
    }
    Ok(())
}

const HEAD: &str = "# Do the intervals hold the truth as often as they say?\n\n\
Simulation-based calibration on `examples/bluestone.toml`: figures are simulated from the priors, accounted for, and the\n\
truth compared with the intervals. Written by `cargo bench -p prep --bench calibration -- --replicates 500 --write`;\n\
the figures depend on the seeds (SEED and up) and not on the machine, but for the last digits of its arithmetic.\n\n";

const WIDE: &str = "## Wrong truths: every unknown three times as far from its median\n\n\
The priors do not expect these runs (losses, held liquor, shares and errors of the balances together). Told without a\n\
mark: no interval can be asked to hold here.\n\n";
