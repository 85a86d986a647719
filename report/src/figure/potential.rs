//! Which forms of one element, or of several, are stable over pH and potential?
//!
//! Fields with their names inside; solids are shaded and hatched, each in its own slope. Broken lines hold the range of
//! water; a ring is the solution itself, where its potential is known, an upright line at its pH else. Lines within one
//! form, where only its companion changes, are not drawn.

use super::hatch::hatch;
use super::labels::{Frame, Labels, Side, Spot};
use super::plane::{BELOW, LEFT, Plane, TOP, area, line, mark};
use super::{Drawing, Figure, NARROW, label};
use crate::document::{Align, Cell, Table, listed};
use crate::number;
use prep::outcome::{PotentialField, PotentialPh};

/// Two corners at the same pH are on one upright edge.
const SAME: f64 = 1e-6;
/// Room between two maps, px.
const BETWEEN: f64 = 18.0;

/// The diagrams of one solution, one map below the other over the same axes.
#[must_use]
pub fn potential_figure(diagrams: &[PotentialPh]) -> Option<Figure> {
    let several = diagrams.len() > 1;
    let own = [("form", Align::Left), ("pH", Align::Left), ("V against hydrogen", Align::Left)];
    let mut table = if several {
        Table::new(&[
            ("form", Align::Left),
            ("pH", Align::Left),
            ("V against hydrogen", Align::Left),
            ("element", Align::Left),
        ])
    } else {
        Table::new(&own)
    };
    for diagram in diagrams {
        rows(diagram, several, &mut table);
    }
    let elements: Vec<String> = diagrams.iter().map(|diagram| diagram.element.clone()).collect();
    let totals: Vec<String> = diagrams
        .iter()
        .map(|diagram| format!("{} mol/kg of {}", number::significant(diagram.total, 3), diagram.element))
        .collect();
    let beside = if several { " Each map takes the other elements as the ions that they are." } else { "" };
    Some(Figure {
        title: format!("{} over pH and potential", listed(&elements)),
        description: diagrams.iter().map(|diagram| described(diagram, several)).collect::<Vec<_>>().join(". "),
        caption: format!(
            "{} in all, 25 °C, against the standard hydrogen electrode. Between the broken lines water stays whole. Hatched: solids. Stable, not quick: a metal may lie bright where it ought to dissolve.{beside}",
            listed(&totals)
        ),
        wide: drawn(diagrams, 720.0)?,
        narrow: drawn(diagrams, NARROW)?,
        table,
    })
}

/// Where each form of an element is stable.
fn rows(diagram: &PotentialPh, several: bool, table: &mut Table) {
    let mut forms: Vec<&str> = Vec::new();
    for field in &diagram.fields {
        if !forms.contains(&field.form.as_str()) {
            forms.push(&field.form);
        }
    }
    for form in &forms {
        let own = || diagram.fields.iter().filter(|field| field.form == *form).flat_map(|field| &field.corners);
        let ends = |pick: fn(&(f64, f64)) -> f64, decimals: i32| {
            let (low, high) =
                own().map(pick).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            format!("{} to {}", number::fixed(low, decimals), number::fixed(high, decimals))
        };
        let mut row = vec![Cell::text(*form), Cell::text(ends(|c| c.0, 1)), Cell::text(ends(|c| c.1, 2))];
        row.extend(several.then(|| Cell::text(diagram.element.clone())));
        table.push(row);
    }
}

fn described(diagram: &PotentialPh, several: bool) -> String {
    let own = diagram.potential.zip(diagram.form.as_ref()).map_or_else(String::new, |(volts, form)| {
        format!("; this solution, pH {} and {} V: {form}", number::fixed(diagram.ph, 2), number::fixed(volts, 3))
    });
    let ladder: Vec<String> =
        diagram.ladder.iter().map(|(volts, form)| format!("{form} from {} V", number::fixed(*volts, 2))).collect();
    let element = if several { format!("{} ", diagram.element) } else { String::new() };
    format!("{element}at pH {}: {}{own}", number::fixed(diagram.ph, 2), ladder.join(", "))
}

/// All maps on one sheet.
fn drawn(diagrams: &[PotentialPh], width: f64) -> Option<Drawing> {
    let tall = if width > 500.0 { 420.0 } else { 330.0 };
    let (mut top, mut body) = (TOP, String::new());
    for diagram in diagrams {
        let frame = Frame { left: LEFT, top, right: width - 14.0, bottom: top + tall };
        if diagrams.len() > 1 {
            body += &label("b e", 14, frame.right, top - 12.0, &diagram.element);
        }
        body += &map(diagram, frame);
        top = frame.bottom + BELOW + BETWEEN + TOP;
    }
    (!diagrams.is_empty()).then_some(Drawing { width, height: top - BETWEEN - TOP, body })
}

/// One element over pH and potential.
fn map(diagram: &PotentialPh, frame: Frame) -> String {
    let corners = || diagram.fields.iter().flat_map(|field| &field.corners);
    let ends = |pick: fn(&(f64, f64)) -> f64| {
        corners().map(pick).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
    };
    let (low, high) = ends(|corner| corner.0);
    let (down, up) = ends(|corner| corner.1);
    let mut plane = Plane::over([low, high], [down, up], (false, false), frame).between((low, high));
    (plane.y.low, plane.y.high) = (down, up);
    let mut labels = Labels::on(frame);
    let outlines: Vec<Vec<Spot>> = diagram.fields.iter().map(|field| plane.trace(&field.corners)).collect();
    let mut solids: Vec<&str> = Vec::new();
    let mut body = String::new();
    for (field, outline) in diagram.fields.iter().zip(&outlines).filter(|(field, _)| field.solid) {
        let place = solids.iter().position(|known| *known == field.form).unwrap_or_else(|| {
            solids.push(&field.form);
            solids.len() - 1
        });
        body += &area("layer", outline);
        body += &hatch(outline, 1 + place % 6);
    }
    body = plane.ruled(("pH", "potential, V")) + &body;
    for (from, to) in edges(&diagram.fields) {
        let edge = plane.trace(&[from, to]);
        labels.avoid(&edge);
        body += &line("edge", &edge);
    }
    for (water, name) in [(&diagram.oxygen, "oxygen above"), (&diagram.hydrogen, "hydrogen below")] {
        let trace = plane.trace(&cut(water, (down, up)));
        labels.avoid(&trace);
        body += &line("curve ahead", &trace);
        let (Some(a), Some(b)) = (trace.first(), trace.last()) else { continue };
        let along: Vec<Spot> = [0.86, 0.76, 0.66, 0.5, 0.35, 0.2]
            .iter()
            .map(|share| (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1)))
            .collect();
        let spots: Vec<(Spot, Side)> =
            along.iter().flat_map(|(x, y)| [((*x, y - 8.0), Side::Start), ((*x, y + 18.0), Side::End)]).collect();
        labels.place("s2 it", 13, name, &spots);
    }
    body += &own(diagram, &plane, &mut labels);
    body += &names(diagram, &outlines, &mut labels);
    body + &labels.drawn()
}

/// A line of water within the window.
fn cut(water: &[(f64, f64); 2], (down, up): (f64, f64)) -> Vec<(f64, f64)> {
    let [a, b] = *water;
    let at = |volts: f64| (a.0 + (b.0 - a.0) * (volts - a.1) / (b.1 - a.1), volts);
    [a, b]
        .iter()
        .map(|end| {
            if end.1 > up {
                at(up)
            } else if end.1 < down {
                at(down)
            } else {
                *end
            }
        })
        .collect()
}

/// The solution itself.
fn own(diagram: &PotentialPh, plane: &Plane, labels: &mut Labels) -> String {
    let frame = plane.frame();
    let ph = number::fixed(diagram.ph, 2);
    match diagram.potential {
        Some(volts) => {
            let spot = plane.spot((diagram.ph, volts));
            let words = format!("this solution: pH {ph}, {} V", number::fixed(volts, 3));
            labels.keep_free(spot, 6.0);
            labels.near("b", 13, spot, "this solution");
            mark("own", spot, &words)
        }
        None => {
            let (x, _) = plane.spot((diagram.ph, 0.0));
            let upright = [(x, frame.top), (x, frame.bottom)];
            labels.avoid(&upright);
            let spots: Vec<(Spot, Side)> = [20.0, 60.0, 120.0, 200.0]
                .iter()
                .flat_map(|off| {
                    [((x + 5.0, frame.bottom - off), Side::Start), ((x - 5.0, frame.bottom - off), Side::End)]
                })
                .collect();
            labels.place("s2", 13, &format!("now pH {ph}"), &spots);
            line("ax dash", &upright)
        }
    }
}

/// Names inside the fields; of a form in several fields the largest has it, small fields have it outside.
fn names(diagram: &PotentialPh, outlines: &[Vec<Spot>], labels: &mut Labels) -> String {
    let size = |outline: &[Spot]| {
        let pairs = outline.iter().zip(outline.iter().cycle().skip(1));
        0.5 * pairs.map(|((a, b), (x, y))| a * y - x * b).sum::<f64>().abs()
    };
    let mut order: Vec<usize> = (0..outlines.len()).collect();
    order.sort_by(|a, b| size(&outlines[*b]).total_cmp(&size(&outlines[*a])));
    let mut done: Vec<&str> = Vec::new();
    for at in &order {
        let form = diagram.fields[*at].form.as_str();
        if !done.contains(&form) && labels.inside("plain", 14, &outlines[*at], form) {
            done.push(form);
        }
    }
    let mut out = String::new();
    for at in order {
        let form = diagram.fields[at].form.as_str();
        if done.contains(&form) {
            continue;
        }
        done.push(form);
        out += &labels.about("plain", 13, &outlines[at], form);
    }
    out
}

type Edge = ((f64, f64), (f64, f64));

/// Edges between different forms. Fields of one form that meet at a pH are one field.
fn edges(fields: &[PotentialField]) -> Vec<Edge> {
    let mut list: Vec<Edge> = Vec::new();
    let mut upright: Vec<(f64, f64, f64, &str)> = Vec::new();
    for field in fields {
        for (from, to) in field.corners.iter().zip(field.corners.iter().cycle().skip(1)) {
            if (from.0 - to.0).abs() < SAME {
                upright.push((from.0, from.1.min(to.1), from.1.max(to.1), &field.form));
            } else {
                list.push((*from, *to));
            }
        }
    }
    for (at, (ph, low, high, form)) in upright.iter().enumerate() {
        for (other, a, b, beside) in upright.iter().skip(at + 1) {
            let (from, to) = (low.max(*a), high.min(*b));
            if (ph - other).abs() < SAME && form != beside && to > from {
                list.push(((*ph, from), (*ph, to)));
            }
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_stands_within_one_form() {
        let field = |form: &str, ph: (f64, f64), volts: (f64, f64)| PotentialField {
            form: form.to_owned(),
            solid: false,
            corners: vec![(ph.0, volts.0), (ph.1, volts.0), (ph.1, volts.1), (ph.0, volts.1)],
        };
        let fields = [
            field("A", (0.0, 7.0), (0.0, 2.0)),
            field("A", (7.0, 14.0), (0.0, 1.0)),
            field("B", (7.0, 14.0), (1.0, 2.0)),
        ];
        let upright: Vec<Edge> = edges(&fields).into_iter().filter(|(a, b)| (a.0 - b.0).abs() < SAME).collect();
        assert_eq!(upright, vec![((7.0, 1.0), (7.0, 2.0))]);
    }
}
