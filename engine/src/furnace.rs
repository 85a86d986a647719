//! When is the middle of a heated bed done?
//!
//! Heat is conducted into a packed bed of one dimension (slab, long cylinder, sphere) that takes up heat where it reacts:
//!
//! ```text
//! ρ c ∂T/∂t = x⁻ᵐ ∂/∂x (k xᵐ ∂T/∂x) − ρ q ∂α/∂t        m = 0, 1, 2;  ∂T/∂x = 0 in the middle
//! surface:  k ∂T/∂x = h (T_f − T) + ε σ (T_f⁴ − T⁴)
//! α:        at a temperature (the front goes as fast as heat comes), or
//!           dα/dt = A e^(−E/RT) f(α),  f = 1 − α  (first order),  n (1 − α)^(1 − 1/n)  (contracting),
//!           n (1 − α) (−ln(1 − α))^(1 − 1/n)  (nucleation, Avrami),
//!           3/2 (1 − α)^(2/3) / (1 − (1 − α)^(1/3))  (diffusion, Jander)
//! ```
//! q is the heat taken up by a kilogram of bed. Control volumes, implicit in time (backward Euler), the reaction in each step
//! exact at the new temperature: a step is unconditionally stable and never passes α = 1 or a front's temperature. The matrix
//! has three diagonals, so that a step is a sweep through the cells; a general library for differential equations would
//! build and factor the same three diagonals through two further libraries of linear algebra, and its adaptive steps gain
//! nothing where a front crosses a cell in every few of them. Halved cells and steps move the answers here by less than 1 %
//! (tests).
//!
//! Neglected: heat carried by the gas that leaves (it delays the middle: the answer is on the early side by the gas's own heat,
//! some 10 %), the pressure of that gas in the pores (which raises the temperature of a front), shrinking and cracking of the
//! bed, radiation within it above some 900 °C (which hastens the middle).
//!
//! Source: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 1959; V. R. Voller, Int. J. Heat Mass Transfer 30 (1987)
//! 604 for fronts by control volumes; M. Avrami, J. Chem. Phys. 8 (1940) 212; W. Jander, Z. anorg. allg. Chem. 163 (1927) 1
//! (all from memory).

/// Stefan and Boltzmann's constant, W/(m²·K⁴).
const RADIATION: f64 = 5.670_374_419e-8;
/// Molar gas constant, J/(mol·K).
const GAS_CONSTANT: f64 = 8.314_462_618;
/// Most corrections within a step.
const MOST_ROUNDS: usize = 60;
/// Change of temperature at which a step is done, K.
const SETTLED: f64 = 1e-7;

/// Shape of the bed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A layer heated from both sides, or from one with the other insulated.
    Slab,
    /// A long cylinder heated from around.
    Cylinder,
    /// A sphere.
    Sphere,
}

/// How the reaction goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// At one temperature (K), as fast as heat arrives.
    AtTemperature(f64),
    /// First order: frequency factor (1/s) and activation energy (J/mol).
    FirstOrder(f64, f64),
    /// A contracting surface of so many dimensions (2 or 3): the same constants.
    Contracting(f64, f64, f64),
    /// Nuclei that form and grow, of an order: the same constants.
    Nucleation(f64, f64, f64),
    /// Diffusion through the product on grains of three dimensions: the same constants.
    Diffusion(f64, f64),
}

impl Law {
    /// Frequency factor, 1/s, and activation energy, J/mol; none for a front.
    fn constants(self) -> Option<(f64, f64)> {
        match self {
            Self::AtTemperature(_) => None,
            Self::FirstOrder(a, e) | Self::Contracting(a, e, _) | Self::Nucleation(a, e, _) | Self::Diffusion(a, e) => {
                Some((a, e))
            }
        }
    }

    /// Rate constant at a temperature, 1/s; none for a front.
    #[must_use]
    pub fn constant(self, temperature: f64) -> Option<f64> {
        self.constants().map(|(a, e)| a * (-e / (GAS_CONSTANT * temperature)).exp())
    }

    /// Fraction after a rate constant has acted for a time, `kt` in all, on a fraction.
    ///
    /// ```
    /// use engine::furnace::Law;
    /// let half = Law::FirstOrder(1.0, 0.0).after(0.0, std::f64::consts::LN_2);
    /// assert!((half - 0.5).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn after(self, fraction: f64, kt: f64) -> f64 {
        let left = (1.0 - fraction).max(0.0);
        match self {
            Self::AtTemperature(_) => fraction,
            Self::FirstOrder(..) => 1.0 - left * (-kt).exp(),
            Self::Contracting(_, _, n) => 1.0 - (left.powf(1.0 / n) - kt).max(0.0).powf(n),
            Self::Nucleation(_, _, n) => 1.0 - (-grown(left, kt, n).powf(n)).exp(),
            Self::Diffusion(..) => 1.0 - (1.0 - crossed(left, kt).sqrt()).powi(3),
        }
    }

    /// How the fraction after `kt` changes with it.
    fn slope(self, fraction: f64, kt: f64) -> f64 {
        let left = (1.0 - fraction).max(0.0);
        match self {
            Self::AtTemperature(_) => 0.0,
            Self::FirstOrder(..) => left * (-kt).exp(),
            Self::Contracting(_, _, n) => n * (left.powf(1.0 / n) - kt).max(0.0).powf(n - 1.0),
            Self::Nucleation(_, _, n) => {
                let grown = grown(left, kt, n);
                let slope = n * grown.powf(n - 1.0) * (-grown.powf(n)).exp();
                if slope.is_finite() { slope } else { 0.0 }
            }
            Self::Diffusion(..) => {
                let crossed = crossed(left, kt);
                if crossed > 0.0 { 1.5 * (1.0 - crossed.sqrt()).powi(2) / crossed.sqrt() } else { 0.0 }
            }
        }
    }
}

/// Integrated law of nucleation after `kt`: (−ln(1 − α))^(1/n) grows evenly.
fn grown(left: f64, kt: f64, order: f64) -> f64 {
    (-left.ln()).max(0.0).powf(1.0 / order) + kt
}

/// Integrated law of diffusion after `kt`: (1 − (1 − α)^(1/3))² grows evenly, to 1.
fn crossed(left: f64, kt: f64) -> f64 {
    ((1.0 - left.cbrt()).powi(2) + kt).min(1.0)
}

/// A bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Shape.
    pub shape: Shape,
    /// From the middle (or the insulated side) to the surface, m.
    pub depth: f64,
    /// Bulk density, kg/m³.
    pub density: f64,
    /// Thermal conductivity, W/(m·K).
    pub conductivity: f64,
    /// Heat capacity of a kilogram of what was charged, J/(kg·K), before and after the reaction.
    pub heat_capacity: [f64; 2],
    /// Heat that a kilogram of what was charged takes up, J/kg.
    pub heat: f64,
    /// How it reacts.
    pub law: Law,
    /// Temperature at the start, K.
    pub start: f64,
}

/// The furnace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Furnace {
    /// Its temperature, K.
    pub temperature: f64,
    /// Heat transfer to the surface by gas, W/(m²·K).
    pub transfer: f64,
    /// Emissivity of the surface, 0 to 1.
    pub emissivity: f64,
}

/// Why a bed cannot be followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoBed;

impl std::fmt::Display for NoBed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("depth, density, conductivity, heat capacity and temperatures must be numbers above zero")
    }
}

impl std::error::Error for NoBed {}

/// A bed on its way.
#[derive(Clone, Debug)]
pub struct Heating {
    bed: Bed,
    furnace: Furnace,
    /// Time, s.
    pub time: f64,
    /// Temperatures of the cells from the middle outwards, K.
    pub temperature: Vec<f64>,
    /// Reacted fraction of the cells.
    pub fraction: Vec<f64>,
    /// Volume of a cell, for a unit of the other directions.
    volume: Vec<f64>,
    /// What conducts between a cell and the next one outwards, W/K.
    conductance: Vec<f64>,
    area: f64,
    reacting: Vec<bool>,
    next: Vec<f64>,
    reached: Vec<f64>,
    diagonal: Vec<f64>,
    right: Vec<f64>,
}

impl Heating {
    /// A cold bed in a hot furnace, divided into so many cells.
    ///
    /// # Errors
    /// [`NoBed`] where a figure is missing or not above zero.
    pub fn new(bed: Bed, furnace: Furnace, cells: usize) -> Result<Self, NoBed> {
        let figures = [bed.depth, bed.density, bed.conductivity, bed.heat_capacity[0], bed.heat_capacity[1], bed.start];
        let sound = figures.iter().all(|v| v.is_finite() && *v > 0.0) && bed.heat.is_finite() && bed.heat >= 0.0;
        let hot = furnace.temperature.is_finite() && furnace.temperature > 0.0 && furnace.transfer >= 0.0;
        if !sound || !hot || cells == 0 {
            return Err(NoBed);
        }
        let width = bed.depth / cells as f64;
        let power = match bed.shape {
            Shape::Slab => 1,
            Shape::Cylinder => 2,
            Shape::Sphere => 3,
        };
        let inside = |x: f64| x.powi(power) / f64::from(power);
        let face = |x: f64| x.powi(power - 1);
        let edge = |cell: usize| width * cell as f64;
        Ok(Self {
            time: 0.0,
            temperature: vec![bed.start; cells],
            fraction: vec![0.0; cells],
            volume: (0..cells).map(|c| inside(edge(c + 1)) - inside(edge(c))).collect(),
            // The outermost is half a cell to the surface.
            conductance: (0..cells)
                .map(|c| face(edge(c + 1)) * bed.conductivity / if c + 1 < cells { width } else { 0.5 * width })
                .collect(),
            area: face(bed.depth),
            reacting: vec![false; cells],
            next: vec![bed.start; cells],
            reached: vec![0.0; cells],
            diagonal: vec![0.0; cells],
            right: vec![0.0; cells],
            bed,
            furnace,
        })
    }

    /// Temperature of the middle, K.
    #[must_use]
    pub fn middle(&self) -> f64 {
        self.temperature.first().copied().unwrap_or(f64::NAN)
    }

    /// Fraction of the whole bed that has not reacted.
    #[must_use]
    pub fn unreacted(&self) -> f64 {
        let all: f64 = self.volume.iter().sum();
        self.volume.iter().zip(&self.fraction).map(|(v, a)| v * (1.0 - a)).sum::<f64>() / all
    }

    /// A step in time, s. Returns whether it settled.
    pub fn step(&mut self, seconds: f64) -> bool {
        let front = match self.bed.law {
            Law::AtTemperature(kelvin) => Some(kelvin),
            _ => None,
        };
        self.next.copy_from_slice(&self.temperature);
        self.reached.copy_from_slice(&self.fraction);
        for cell in 0..self.reacting.len() {
            self.reacting[cell] =
                front.is_some_and(|kelvin| self.fraction[cell] < 1.0 && self.temperature[cell] >= kelvin);
        }
        let mut settled = false;
        for _ in 0..MOST_ROUNDS {
            let outside = self.outside();
            self.fill(seconds, outside, front);
            let change = self.sweep();
            let moved = front.is_some_and(|kelvin| self.move_front(seconds, kelvin, outside));
            if change < SETTLED && !moved {
                settled = true;
                break;
            }
        }
        if front.is_none() {
            for cell in 0..self.next.len() {
                let kt = self.bed.law.constant(self.next[cell]).unwrap_or(0.0) * seconds;
                self.reached[cell] = self.bed.law.after(self.fraction[cell], kt);
            }
        }
        std::mem::swap(&mut self.temperature, &mut self.next);
        self.fraction.copy_from_slice(&self.reached);
        self.time += seconds;
        settled
    }

    /// What conducts from the furnace to the outermost cell, W/K, radiation at the present surface temperature.
    fn outside(&self) -> f64 {
        let last = self.next.len() - 1;
        let (inner, hot) = (self.conductance[last], self.furnace.temperature);
        let mut surface = self.next[last];
        let mut film = 0.0;
        for _ in 0..20 {
            let radiant = self.furnace.emissivity * RADIATION * (hot + surface) * (hot * hot + surface * surface);
            film = self.area * (self.furnace.transfer + radiant);
            let found = (inner * self.next[last] + film * hot) / (inner + film);
            if (found - surface).abs() < 1e-6 {
                break;
            }
            surface = found;
        }
        inner * film / (inner + film)
    }

    /// Fills diagonal and right-hand side; the other diagonals are the conductances.
    fn fill(&mut self, seconds: f64, outside: f64, front: Option<f64>) {
        let (bed, last) = (self.bed, self.next.len() - 1);
        for cell in 0..=last {
            let done = self.fraction[cell];
            let capacity = bed.heat_capacity[0] + done * (bed.heat_capacity[1] - bed.heat_capacity[0]);
            let holds = bed.density * self.volume[cell] / seconds;
            let inwards = if cell > 0 { self.conductance[cell - 1] } else { 0.0 };
            let outwards = if cell < last { self.conductance[cell] } else { outside };
            self.diagonal[cell] = holds * capacity + inwards + outwards;
            self.right[cell] = holds * capacity * self.temperature[cell];
            if cell == last {
                self.right[cell] += outside * self.furnace.temperature;
            }
            if front.is_some() {
                // A cell that passed its front has paid for it in this step.
                self.right[cell] -= holds * bed.heat * (self.reached[cell] - done);
                continue;
            }
            let here = self.next[cell];
            let kt = bed.law.constant(here).unwrap_or(0.0) * seconds;
            let gain = bed.law.after(done, kt) - done;
            let energy = bed.law.constants().map_or(0.0, |(_, e)| e);
            let slope = bed.law.slope(done, kt) * kt * energy / (GAS_CONSTANT * here * here);
            self.diagonal[cell] += holds * bed.heat * slope;
            self.right[cell] += holds * bed.heat * (slope * here - gain);
        }
    }

    /// Solves for the temperatures; cells at their front keep its temperature. Returns the greatest change.
    fn sweep(&mut self) -> f64 {
        let cells = self.next.len();
        let front = match self.bed.law {
            Law::AtTemperature(kelvin) => kelvin,
            _ => f64::NAN,
        };
        // Elimination from the middle outwards; a cell at its front is a known temperature.
        for cell in 0..cells {
            if self.reacting[cell] {
                self.diagonal[cell] = 1.0;
                self.right[cell] = front;
                continue;
            }
            if cell > 0 {
                let link = self.conductance[cell - 1];
                if self.reacting[cell - 1] {
                    self.right[cell] += link * front;
                } else {
                    self.diagonal[cell] -= link * link / self.diagonal[cell - 1];
                    self.right[cell] += link * self.right[cell - 1] / self.diagonal[cell - 1];
                }
            }
        }
        let mut change = 0.0f64;
        for cell in (0..cells).rev() {
            let outwards = if cell + 1 < cells && !self.reacting[cell] {
                self.conductance[cell] * self.next[cell + 1]
            } else {
                0.0
            };
            let found = (self.right[cell] + outwards) / self.diagonal[cell];
            change = change.max((found - self.next[cell]).abs());
            self.next[cell] = found;
        }
        change
    }

    /// Lets cells reach, react at, and leave the temperature of the front. Returns whether any changed.
    fn move_front(&mut self, seconds: f64, front: f64, outside: f64) -> bool {
        let (bed, last) = (self.bed, self.next.len() - 1);
        let mut moved = false;
        for cell in 0..=last {
            let done = self.fraction[cell];
            if self.reacting[cell] {
                let inwards = if cell > 0 { self.conductance[cell - 1] * (self.next[cell - 1] - front) } else { 0.0 };
                let outwards = if cell < last {
                    self.conductance[cell] * (self.next[cell + 1] - front)
                } else {
                    outside * (self.furnace.temperature - front)
                };
                let holds = bed.density * self.volume[cell] / seconds;
                let capacity = bed.heat_capacity[0] + done * (bed.heat_capacity[1] - bed.heat_capacity[0]);
                let left_over = inwards + outwards - holds * capacity * (front - self.temperature[cell]);
                let reached = done + left_over / (holds * bed.heat.max(f64::MIN_POSITIVE));
                if reached >= 1.0 {
                    (self.reacting[cell], self.reached[cell], moved) = (false, 1.0, true);
                } else if reached < done {
                    (self.reacting[cell], self.reached[cell], moved) = (false, done, true);
                } else {
                    self.reached[cell] = reached;
                }
            } else if self.reached[cell] < 1.0 && self.next[cell] > front {
                (self.reacting[cell], moved) = (true, true);
            } else if self.reached[cell] >= 1.0 && done < 1.0 && self.next[cell] < front - SETTLED {
                (self.reacting[cell], self.reached[cell], moved) = (true, done, true);
            }
        }
        moved
    }
}

/// What is told of a bed at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// s
    pub time: f64,
    /// Temperature of the middle, K.
    pub middle: f64,
    /// Unreacted fraction in the middle.
    pub middle_left: f64,
    /// Unreacted fraction of all.
    pub left: f64,
}

/// Follows a bed until less than a fraction of its middle is unreacted, or to a last time (s), in steps of a time (s), telling
/// so many moments at most. The last moment is the end.
///
/// # Errors
/// As [`Heating::new`].
pub fn follow(
    bed: Bed,
    furnace: Furnace,
    (step, last): (f64, f64),
    enough: f64,
    cells: usize,
) -> Result<Vec<Moment>, NoBed> {
    if !(step > 0.0 && last.is_finite()) {
        return Err(NoBed);
    }
    let mut heating = Heating::new(bed, furnace, cells)?;
    let told = |h: &Heating| Moment {
        time: h.time,
        middle: h.middle(),
        middle_left: 1.0 - h.fraction.first().copied().unwrap_or(f64::NAN),
        left: h.unreacted(),
    };
    let mut moments = vec![told(&heating)];
    while heating.time < last {
        heating.step(step);
        let now = told(&heating);
        moments.push(now);
        if now.middle_left < enough {
            break;
        }
    }
    Ok(moments)
}
