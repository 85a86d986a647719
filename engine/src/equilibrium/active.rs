//! Given about what is there, what is there exactly?
//!
//! Newton's method on the potentials of the components, in which a gas is no unknown: its mole fraction is
//! `exp(a·π − γ)`, whether it is nearly everything or 1e-200 of it, so traces are as exact as the rest. Unknown besides are the
//! amount of gas, the amounts of the condensed phases that are present, and (if energy is held) the temperature; with it, two
//! forms of a substance may share the energy on a plateau. The set of condensed phases is corrected as in the simplex method:
//! one that would be less than nothing leaves, the one that would be most stable enters, and where the phase rule leaves no
//! room for it, it takes the place of the one that it uses up first.
//!
//! Source: the equations are those of S. Gordon, B. J. McBride, NASA RP-1311 (1994), with the potentials as unknowns; limits on
//! steps after the same.

use super::work::Work;

/// Most Newton steps for one set of phases.
const MOST_STEPS: usize = 120;
/// The same with temperature unknown: there a bracket stands behind.
const MOST_STEPS_WITH_HEAT: usize = 30;
/// Most changes of the set of phases.
const MOST_CHANGES: usize = 60;
/// Largest rise of the logarithm of a plentiful gas in one step.
const RISE: f64 = 2.0;
/// Logarithm of the fraction above which a gas is plentiful, and up to which a scarce one may rise in one step.
const PLENTIFUL: f64 = -18.0;
const LIFT_TO: f64 = -9.2;
/// Largest change of the logarithm of temperature in one step.
const WARM: f64 = 0.3;
/// Steps below this end the iteration: the next would be its square.
const SMALL: f64 = 1e-8;
/// Steps below this are rounding; after so many small ones the rest is, too.
const TINY: f64 = 1e-12;
const POLISH: usize = 3;
/// An amount below this share of what its elements allow is nothing.
const NOTHING: f64 = 1e-12;
/// A gas of less than this share of the rarest element is none.
const GONE: f64 = 1e-8;
/// A phase this much more stable than what is there, in RT, would form.
const FORMS: f64 = 1e-10;

/// How an iteration with fixed phases ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    Found,
    GasGone,
    Lost,
}

impl Work {
    /// Corrects the set of phases until no phase is missing and none less than nothing. Returns whether that was reached.
    pub(super) fn settle(&mut self) -> bool {
        for _ in 0..MOST_CHANGES {
            match self.newton(None) {
                End::Found => {}
                End::GasGone => {
                    self.has_gas = false;
                    continue;
                }
                // Too many phases for the elements: the least sure one goes.
                End::Lost if self.present.len() > 1 => {
                    self.present.pop();
                    self.present_amount.pop();
                    continue;
                }
                End::Lost => return false,
            }
            if self.at_pressure && !self.has_gas && !self.gas.is_empty() && self.lacks_gas() {
                self.has_gas = true;
                self.total = self.total.max(self.least);
                continue;
            }
            if let Some(place) = self.less_than_nothing() {
                self.present.remove(place);
                self.present_amount.remove(place);
                continue;
            }
            if !self.admit() {
                self.present_amount.iter_mut().for_each(|amount| *amount = amount.max(0.0));
                return true;
            }
        }
        false
    }

    /// Whether an element is left over that only a gas can hold.
    fn lacks_gas(&self) -> bool {
        (0..self.frame.rows).any(|row| {
            let there: f64 =
                self.present.iter().zip(&self.present_amount).map(|(&c, n)| n * self.frame.column(c)[row]).sum();
            (self.frame.amounts[row] - there).abs() > NOTHING * self.least
        })
    }

    /// Which phase is present with less than nothing, most so.
    pub(super) fn less_than_nothing(&self) -> Option<usize> {
        let mut worst = (-NOTHING, None);
        for (place, (&c, amount)) in self.present.iter().zip(&self.present_amount).enumerate() {
            let share = amount / self.most(c);
            if share < worst.0 {
                worst = (share, Some(place));
            }
        }
        worst.1
    }

    /// As much of a candidate as its scarcest element allows.
    pub(super) fn most(&self, candidate: usize) -> f64 {
        let counts = self.system.counts(candidate);
        (0..counts.len())
            .filter(|e| counts[*e] > 0.0 && !self.system.is_charge(*e))
            .map(|e| self.share[e] / counts[e])
            .fold(1.0, f64::min)
    }

    /// The condensed phase most in want, and by how much, in RT.
    pub(super) fn most_wanted(&self) -> (f64, Option<usize>) {
        let mut best = (0.0, None);
        for &c in self.condensed.iter().filter(|c| !self.present.contains(c)) {
            let gain = self.worth(c) - self.gamma[c];
            if gain > best.0 {
                best = (gain, Some(c));
            }
        }
        best
    }

    /// Logarithm of the sum of the fractions that the gases would have.
    pub(super) fn gas_pressure(&self) -> f64 {
        let highest = self.gas.iter().map(|&i| self.worth(i) - self.gamma[i]).fold(f64::NEG_INFINITY, f64::max);
        if highest == f64::NEG_INFINITY {
            return highest;
        }
        highest + self.gas.iter().map(|&i| (self.worth(i) - self.gamma[i] - highest).exp()).sum::<f64>().ln()
    }

    /// Lets in the phase most in want. Returns whether there was one.
    fn admit(&mut self) -> bool {
        let (gain, wanted) = self.most_wanted();
        let pressure = if self.at_pressure && !self.has_gas { self.gas_pressure() } else { 0.0 };
        if pressure > FORMS.max(gain) {
            self.admit_gas();
            return true;
        }
        let Some(wanted) = wanted.filter(|_| gain > FORMS) else { return false };
        self.right.clear();
        self.right.extend_from_slice(self.frame.column(wanted));
        let place = self.crowded_out();
        if let Some((place, amount)) = place {
            self.present.remove(place);
            self.present_amount.remove(place);
            self.present.push(wanted);
            self.present_amount.push(amount);
        } else {
            self.present.push(wanted);
            self.present_amount.push(0.0);
        }
        true
    }

    /// A gas phase of the composition that the potentials give it.
    fn admit_gas(&mut self) {
        let pressure = self.gas_pressure();
        self.right.clear();
        self.right.resize(self.frame.rows, 0.0);
        for &i in &self.gas {
            let fraction = (self.worth(i) - self.gamma[i] - pressure).exp();
            for (row, count) in self.frame.column(i).iter().enumerate() {
                self.right[row] += fraction * count;
            }
        }
        self.total = self.least.sqrt() * 1e-3;
        if let Some((place, amount)) = self.crowded_out() {
            self.present.remove(place);
            self.present_amount.remove(place);
            self.total = amount.max(1e-3 * self.least);
        }
        self.has_gas = true;
    }

    /// Whether a new phase (its column in `right`) is made of those that are present; then which of them it uses up first, and
    /// how much of it that makes.
    pub(super) fn crowded_out(&mut self) -> Option<(usize, f64)> {
        if !self.is_made_of(self.present.len()) {
            return None;
        }
        let shares = &self.parts;
        let used = |place: usize| self.present_amount[place].max(0.0) / shares[place];
        (0..shares.len())
            .filter(|place| shares[*place] > 1e-9)
            .min_by(|i, j| used(*i).total_cmp(&used(*j)))
            .map(|place| (place, used(place)))
    }

    /// Whether the column in `right` is made of the first so many phases that are present; the shares are then in `parts`.
    pub(super) fn is_made_of(&mut self, first: usize) -> bool {
        self.parts.clear();
        if first == 0 {
            return false;
        }
        self.matrix.clear(first);
        for row in 0..first {
            let column = self.frame.column(self.present[row]);
            for other in 0..first {
                self.matrix.add(row, other, dot(column, self.frame.column(self.present[other])));
            }
            self.parts.push(dot(column, &self.right));
        }
        if self.matrix.factor().is_err() {
            return false;
        }
        self.matrix.solve(&mut self.parts);
        for (share, &c) in self.parts.iter().zip(&self.present) {
            for (row, count) in self.frame.column(c).iter().enumerate() {
                self.right[row] -= share * count;
            }
        }
        self.right[..self.frame.rows].iter().all(|rest| rest.abs() < 1e-7)
    }

    /// Newton steps with the phases as they are; with an energy (J), temperature is unknown too.
    pub(super) fn newton(&mut self, energy: Option<f64>) -> End {
        let most = if energy.is_some() { MOST_STEPS_WITH_HEAT } else { MOST_STEPS };
        let mut polished = 0;
        for _ in 0..most {
            self.steps += 1;
            self.fractions();
            self.assemble(energy);
            if self.matrix.factor().is_err() {
                return End::Lost;
            }
            self.matrix.solve(&mut self.right);
            if self.right.iter().any(|step| !step.is_finite()) {
                return End::Lost;
            }
            let (step, size) = self.limit(energy.is_some());
            self.advance(step, energy.is_some());
            if self.has_gas && self.at_pressure && self.total < GONE * self.least {
                return End::GasGone;
            }
            if step == 1.0 && size < SMALL {
                // Once or twice more for the last figures, which a poor pivot can hide.
                if size < TINY || polished == POLISH {
                    self.fractions();
                    self.balance();
                    return End::Found;
                }
                polished += 1;
            }
        }
        End::Lost
    }

    /// Gives each condensed component what its condition leaves for it. The matrix mixes its figures with those of far larger
    /// amounts; this sum does not.
    fn balance(&mut self) {
        let total = if self.at_pressure { self.total } else { 1.0 };
        for row in 0..self.frame.rows {
            let component = self.frame.components[row];
            let Some(place) = self.present.iter().position(|c| *c == component) else { continue };
            let mut left = self.frame.amounts[row];
            if self.has_gas {
                left -= self.gas.iter().map(|&i| total * self.fraction[i] * self.frame.column(i)[row]).sum::<f64>();
            }
            for (other, (&c, amount)) in self.present.iter().zip(&self.present_amount).enumerate() {
                if other != place {
                    left -= amount * self.frame.column(c)[row];
                }
            }
            self.present_amount[place] = left;
        }
    }

    /// Fractions (or amounts) of the gases at the present potentials.
    pub(super) fn fractions(&mut self) {
        if !self.at_pressure {
            self.has_gas = !self.gas.is_empty();
        }
        for index in 0..self.gas.len() {
            let i = self.gas[index];
            self.fraction[i] = (self.worth(i) - self.gamma[i]).min(200.0).exp();
        }
    }

    fn assemble(&mut self, energy: Option<f64>) {
        let (rows, there) = (self.frame.rows, self.present.len());
        let mixed = self.has_gas && self.at_pressure;
        let (gas_place, first) = (rows, rows + usize::from(mixed));
        let heat_place = first + there;
        let size = heat_place + usize::from(energy.is_some());
        self.matrix.clear(size);
        self.right.clear();
        self.right.extend_from_slice(&self.frame.amounts);
        self.right.resize(size, 0.0);
        let total = if mixed { self.total } else { 1.0 };
        let (mut sum, mut sum_heat, mut energy_there, mut curvature) = (0.0, 0.0, 0.0, 0.0);
        if self.has_gas {
            for &i in &self.gas {
                let amount = total * self.fraction[i];
                let column = self.frame.column(i);
                for row in 0..rows {
                    if column[row] == 0.0 {
                        continue;
                    }
                    let part = amount * column[row];
                    self.right[row] -= part;
                    for other in row..rows {
                        self.matrix.add(row, other, part * column[other]);
                    }
                    if mixed {
                        self.matrix.add_both(row, gas_place, self.fraction[i] * column[row]);
                    }
                    if energy.is_some() {
                        self.matrix.add_both(row, heat_place, part * self.heat[i]);
                    }
                }
                sum += self.fraction[i];
                sum_heat += self.fraction[i] * self.heat[i];
                energy_there += amount * self.heat[i];
                curvature += amount * (self.heat[i] * self.heat[i] + self.capacity[i]);
            }
        }
        self.matrix.mirror(rows);
        for row in 0..rows {
            // Where nothing depends on a potential it stays where it is.
            self.matrix.add(row, row, if self.has_gas { 1e-200 } else { 1e-8 });
        }
        if mixed {
            self.right[gas_place] = 1.0 - sum;
            if energy.is_some() {
                self.matrix.add_both(gas_place, heat_place, sum_heat);
            }
        }
        for (place, (&c, amount)) in self.present.iter().zip(&self.present_amount).enumerate() {
            let column = self.frame.column(c);
            let here = first + place;
            self.right[here] = self.gamma[c] - dot(column, &self.pi);
            for row in 0..rows {
                self.right[row] -= amount * column[row];
                self.matrix.add_both(row, here, column[row]);
            }
            if energy.is_some() {
                self.matrix.add_both(here, heat_place, self.heat[c]);
            }
            energy_there += amount * self.heat[c];
            curvature += amount * self.capacity[c];
        }
        if let Some(energy) = energy {
            let unit = self.scale * crate::thermochemistry::fit::GAS_CONSTANT * self.temperature;
            self.matrix.add(heat_place, heat_place, curvature);
            self.right[heat_place] = energy / unit - energy_there;
        }
    }

    /// How much of the step may be gone, and how large the whole is.
    fn limit(&self, warms: bool) -> (f64, f64) {
        let rows = self.frame.rows;
        let mixed = self.has_gas && self.at_pressure;
        let first = rows + usize::from(mixed);
        let warmer = if warms { self.right[first + self.present.len()] } else { 0.0 };
        let (mut step, mut size) = (1.0f64, warmer.abs());
        if warmer.abs() > WARM {
            step = WARM / warmer.abs();
        }
        if self.has_gas {
            for &i in &self.gas {
                let rise = dot(self.frame.column(i), &self.right[..rows]) + self.heat[i] * warmer;
                let now = self.worth(i) - self.gamma[i];
                size = size.max(rise.abs());
                if now > PLENTIFUL {
                    step = step.min(RISE / rise.max(0.4 * -rise).max(1e-300));
                } else if now + rise > LIFT_TO {
                    step = step.min((LIFT_TO - now) / rise);
                }
            }
        }
        if mixed {
            let change = self.right[rows];
            size = size.max(change.abs() / self.total.max(1e-3 * self.least));
            if change < -0.95 * self.total {
                step = step.min(-0.95 * self.total / change);
            }
        }
        for (place, &c) in self.present.iter().enumerate() {
            size = size.max(self.right[first + place].abs() / self.most(c).max(1e-250) * 1e-2);
        }
        (step, size)
    }

    fn advance(&mut self, step: f64, warms: bool) {
        let rows = self.frame.rows;
        for row in 0..rows {
            self.pi[row] += step * self.right[row];
        }
        let mut next = rows;
        if self.has_gas && self.at_pressure {
            self.total += step * self.right[next];
            next += 1;
        }
        for amount in &mut self.present_amount {
            *amount += step * self.right[next];
            next += 1;
        }
        if warms {
            self.warm_to(self.temperature * (step * self.right[next]).exp());
        }
    }
}

pub(super) fn dot(left: &[f64], right: &[f64]) -> f64 {
    left.iter().zip(right).map(|(a, b)| a * b).sum()
}
