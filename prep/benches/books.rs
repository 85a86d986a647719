//! The example, and a file of thirty steps, from text to plan and account.
//!
//! `many_liquors` has thirty steps and four readings. The long file has thirty steps, some forty readings and 24
//! compositions that its forms allow; `twelve` is the same file with one drying known to be dry, which leaves twelve.

use prep::{AccountSettings, Fits};

fn main() {
    divan::main();
}

const EXAMPLE: &[u8] = include_bytes!("../../examples/bluestone.toml");

const THIRTY_STEPS: &[u8] = include_bytes!("preparations/thirty-steps.toml");

const MANY_LIQUORS: &str = include_str!("preparations/many-liquors.toml");

fn preparation() -> prep::Preparation {
    prep::read(EXAMPLE).preparation.expect("the example reads")
}

fn thirty_steps() -> prep::Preparation {
    prep::read(THIRTY_STEPS).preparation.expect("the long file reads")
}

/// The text of the long file with twelve compositions.
fn twelve_text() -> String {
    let text = std::str::from_utf8(THIRTY_STEPS).expect("text");
    text.replacen("\"Cu2CO3(OH)2(s)\", \"H2O(l)\"]", "\"Cu2CO3(OH)2(s)\"]", 1)
}

fn twelve() -> prep::Preparation {
    prep::read(twelve_text().as_bytes()).preparation.expect("the long file reads")
}

#[divan::bench]
fn read_and_check() -> prep::Reading {
    prep::read(EXAMPLE)
}

#[divan::bench(sample_count = 20)]
fn plan(bencher: divan::Bencher) {
    let preparation = preparation();
    bencher.bench_local(|| prep::plan(&preparation));
}

#[divan::bench(sample_count = 50)]
fn live_account(bencher: divan::Bencher) {
    let preparation = preparation();
    bencher.bench_local(|| prep::live_account(&preparation));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn first_sampled_figures(bencher: divan::Bencher) {
    let preparation = preparation();
    let settings = AccountSettings { particles: Some(500), without_suppositions: true, ..AccountSettings::default() };
    bencher.bench_local(|| prep::account(&preparation, &settings, &mut |_| {}));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn printed_account(bencher: divan::Bencher) {
    let preparation = preparation();
    bencher.bench_local(|| prep::account(&preparation, &AccountSettings::default(), &mut |_| {}));
}

#[divan::bench(sample_count = 5)]
fn thirty_steps_read_and_check() -> prep::Reading {
    prep::read(THIRTY_STEPS)
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn thirty_steps_plan(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::plan(&preparation));
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn thirty_steps_live_account(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::live_account(&preparation));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn thirty_steps_next_test(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::next(&preparation, None));
}

#[divan::bench(sample_count = 2, sample_size = 1)]
fn thirty_steps_first_sampled_figures(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    let settings = AccountSettings { particles: Some(500), without_suppositions: true, ..AccountSettings::default() };
    bencher.bench_local(|| prep::account(&preparation, &settings, &mut |_| {}));
}

#[divan::bench(sample_count = 1, sample_size = 1)]
fn thirty_steps_printed_account(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::account(&preparation, &AccountSettings::default(), &mut |_| {}));
}

/// One figure of a weighed cake is corrected by its last digit, to and fro, as an editor does.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn twelve_live_account_after_an_edit(bencher: divan::Bencher) {
    after_an_edit(bencher, &twelve_text(), ["\"108.4 g\"", "\"108.5 g\""]);
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn many_liquors_live_account_after_an_edit(bencher: divan::Bencher) {
    after_an_edit(bencher, MANY_LIQUORS, ["\"38.20 g\"", "\"38.30 g\""]);
}

fn after_an_edit(bencher: divan::Bencher, text: &str, [from, to]: [&str; 2]) {
    let edited = text.replacen(from, to, 1);
    assert_ne!(edited, text, "the figure is there");
    let texts = [text, &edited].map(|text| prep::read(text.as_bytes()).preparation.expect("it reads"));
    let settings = AccountSettings { at_once: true, ..AccountSettings::default() };
    let fits = std::cell::RefCell::new(Fits::default());
    let _ = prep::live_account_after(&texts[0], &settings, &fits.borrow());
    let turn = std::cell::Cell::new(0);
    bencher.bench_local(|| {
        turn.set(1 - turn.get());
        let now = fits.borrow().passed_on();
        let account = prep::live_account_after(&texts[turn.get()], &settings, &now);
        fits.replace(now);
        account
    });
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn twelve_live_account(bencher: divan::Bencher) {
    let preparation = twelve();
    let settings = AccountSettings { at_once: true, ..AccountSettings::default() };
    bencher.bench_local(|| prep::live_account_with(&preparation, &settings));
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn twelve_next_test_after_the_account(bencher: divan::Bencher) {
    let preparation = twelve();
    let fits = Fits::default();
    let _ = prep::live_account_after(&preparation, &AccountSettings::default(), &fits);
    let fits = fits.passed_on();
    bencher.bench_local(|| prep::next_after(&preparation, None, &fits));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn twelve_first_sampled_figures(bencher: divan::Bencher) {
    let preparation = twelve();
    let settings = AccountSettings { particles: Some(500), without_suppositions: true, ..AccountSettings::default() };
    bencher.bench_local(|| prep::account(&preparation, &settings, &mut |_| {}));
}

#[divan::bench(sample_count = 2, sample_size = 1)]
fn twelve_printed_account(bencher: divan::Bencher) {
    let preparation = twelve();
    bencher.bench_local(|| prep::account(&preparation, &AccountSettings::default(), &mut |_| {}));
}
