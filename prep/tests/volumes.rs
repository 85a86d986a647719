//! Volumes of charges read off ware: their mass and its uncertainty, against sums done by hand. The account draws about a
//! thousand times: means are good to some 3 % of u, u itself to 3 %.

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// Mass of a liquor made of one charge without loss, g, with its standard uncertainty.
fn liquor(ware: &str, volume: &str) -> (f64, f64) {
    let text = format!(
        r#"
title = "Acid by volume"
account_for = "S"
[[supply]]
name = "acid"
holds = "H2SO4(aq)"
strength = "17.5 % w/w"
density = "1.12 ± 0.0001 g/mL"
[[instrument]]
name = "balance"
kind = "balance"
resolution = "0.1 g"
[[instrument]]
name = "ware"
{ware}
[[vessel]]
name = "flask"
[[step]]
name = "take"
action = "dissolve"
take = {{ acid = "25 mL", water = "1.000 g" }}
film = "none"
loss = "none"
gives = {{ liquor = "all" }}
  [[step.reading]]
  id = "r1"
  volume = "{volume}"
  charge = "acid"
  with = "ware"
  [[step.reading]]
  id = "r2"
  weigh = "100.0 g"
  in = "flask"
  with = "balance"
"#
    );
    let reading = prep::read(text.as_bytes());
    let preparation = reading.preparation.unwrap_or_else(|| panic!("{:#?}", reading.findings));
    let account = prep::live_account(&preparation);
    let lot = account.lots.iter().find(|lot| lot.name == "liquor").expect("given");
    (lot.mass.mean, lot.mass.standard_uncertainty)
}

/// 24.95 mL at 1.12 g/mL and a gram of water, whose last digit is good to half a milligram.
#[test]
fn the_ware_decides_how_well_a_volume_is_known() {
    let water = 0.001 / 12f64.sqrt();
    for (ware, volume, u) in [
        // Permitted errors as rectangles; a burette and a cylinder also the last digit read.
        ("kind = \"pipette\"\ncapacity = \"25 mL\"\nclass = \"A\"", "25.00 mL", 0.03 / 3f64.sqrt()),
        ("kind = \"burette\"\ncapacity = \"50 mL\"", "24.95 mL", (0.1 / 3f64.sqrt()).hypot(0.01 / 12f64.sqrt())),
        (
            "kind = \"cylinder\"\ncapacity = \"100 mL\"\nclass = \"B\"",
            "25 mL",
            (1.0 / 3f64.sqrt()).hypot(1.0 / 12f64.sqrt()),
        ),
    ] {
        let (mass, found) = liquor(ware, volume);
        let figure: f64 = volume.trim_end_matches(" mL").parse().expect("a figure");
        close(mass, 1.12 * figure + 1.0, 0.1 * (1.12 * u).hypot(water));
        close(found, (1.12 * u).hypot(water).hypot(0.0001 * figure), 0.05 * (1.12 * u).hypot(water));
    }
}
