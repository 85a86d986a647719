//! Which ions and ligands does a formula spell out, and which oxidation states have their atoms?
//!
//! An ion is recognised where its atoms follow one another with exactly its counts, as in `NH4NO3` or `[Fe(CN)6]`. The
//! states follow from the bonds by the rule of the more electronegative atom (Karen, McArdle, Takats, Pure Appl. Chem. 86
//! (2014) 1017): each bond goes to that atom, bonds between like atoms are shared. Where like atoms of an ion differ and
//! their halves are a matter of convention (thiosulfate), their mean is given.

use std::sync::LazyLock;

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedMul, One, Zero};

use super::super::structure::Member;
use crate::element::Element;

/// Name, atoms in order, states: `=` of each atom, `~` the mean of several.
const TABLE: &str = "
acetate         | C H3 C O O | C=-3 H3=1 C=3 O2=-2
acetate         | C H3 C O2  | C=-3 H3=1 C=3 O2=-2
acetate         | C2 H3 O2   | C2~0 H3=1 O2=-2
formate         | H C O O    | H=1 C=2 O2=-2
formate         | H C O2     | H=1 C=2 O2=-2
oxalate         | C2 O4      | C2=3 O4=-2
carbonate       | C O3       | C=4 O3=-2
thiocyanate     | S C N      | S=-2 C=4 N=-3
thiocyanate     | N C S      | S=-2 C=4 N=-3
cyanate         | O C N      | O=-2 C=4 N=-3
cyanate         | N C O      | O=-2 C=4 N=-3
cyanide         | C N        | C=2 N=-3
ammonium        | N H4       | N=-3 H4=1
hydrazinium     | N2 H5      | N2=-2 H5=1
hydroxylammonium| N H3 O H   | N=-1 H4=1 O=-2
ammonia         | N H3       | N=-3 H3=1
nitrate         | N O3       | N=5 O3=-2
nitrite         | N O2       | N=3 O2=-2
peroxodisulfate | S2 O8      | S2=6 O6=-2 O2=-1
disulfate       | S2 O7      | S2=6 O7=-2
disulfite       | S2 O5      | S2~4 O5=-2
dithionite      | S2 O4      | S2=3 O4=-2
thiosulfate     | S2 O3      | S2~2 O3=-2
tetrathionate   | S4 O6      | S4~5/2 O6=-2
sulfate         | S O4       | S=6 O4=-2
sulfite         | S O3       | S=4 O3=-2
phosphate       | P O4       | P=5 O4=-2
diphosphate     | P2 O7      | P2=5 O7=-2
arsenate        | As O4      | As=5 O4=-2
perchlorate     | Cl O4      | Cl=7 O4=-2
chlorate        | Cl O3      | Cl=5 O3=-2
chlorite        | Cl O2      | Cl=3 O2=-2
bromate         | Br O3      | Br=5 O3=-2
periodate       | I O4       | I=7 O4=-2
iodate          | I O3       | I=5 O3=-2
chromate        | Cr O4      | Cr=6 O4=-2
dichromate      | Cr2 O7     | Cr2=6 O7=-2
molybdate       | Mo O4      | Mo=6 O4=-2
tungstate       | W O4       | W=6 O4=-2
vanadate        | V O3       | V=5 O3=-2
";

static IONS: LazyLock<Vec<Ion>> = LazyLock::new(|| TABLE.lines().filter_map(Ion::from_line).collect());

/// The carbonyl ligand, read only as a group of its own.
static CARBONYL: LazyLock<Option<Ion>> = LazyLock::new(|| Ion::from_line("carbonyl | C O | C=2 O=-2"));

/// Some atoms of an ion, alike.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct IonAtoms {
    pub element: Element,
    pub count: i64,
    pub state: Ratio<i64>,
    pub mean: bool,
}

/// An ion or ligand.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Ion {
    pub name: &'static str,
    atoms: Vec<(Element, i64)>,
    pub states: Vec<IonAtoms>,
}

impl Ion {
    fn from_line(line: &'static str) -> Option<Ion> {
        let mut cells = line.split('|').map(str::trim);
        let (name, atoms, states) = (cells.next()?, cells.next()?, cells.next()?);
        let atoms = atoms.split_whitespace().map(atom).collect::<Option<_>>()?;
        let states = states.split_whitespace().map(|text| {
            let (atoms, state) = text.split_once(['=', '~'])?;
            let (element, count) = atom(atoms)?;
            Some(IonAtoms { element, count, state: state.parse().ok()?, mean: text.contains('~') })
        });
        Some(Ion { name, atoms, states: states.collect::<Option<_>>()? })
    }

    /// Charge number: the sum of the states.
    pub fn charge(&self) -> Ratio<i64> {
        self.states.iter().map(|atoms| atoms.state * Ratio::from_integer(atoms.count)).sum()
    }

    fn holds_carbon(&self) -> bool {
        self.atoms.iter().any(|(element, _)| *element == Element::CARBON)
    }

    fn starts(&self, members: &[Member]) -> bool {
        members.len() >= self.atoms.len()
            && self.atoms.iter().zip(members).all(|((wanted, number), member)| {
                matches!(member, Member::Atom { element, count, .. }
                    if element == wanted && *count == Ratio::from_integer(*number))
            })
    }
}

/// `O3` as oxygen and 3.
fn atom(text: &str) -> Option<(Element, i64)> {
    let digits = text.find(|letter: char| letter.is_ascii_digit()).unwrap_or(text.len());
    let (symbol, count) = text.split_at(digits);
    let count = if count.is_empty() { 1 } else { count.parse().ok()? };
    Some((Element::from_symbol(symbol)?, count))
}

/// What a row of atoms and groups spells out: ions with their number, and the atoms besides.
#[derive(Clone, Debug, Default)]
pub(super) struct Pieces {
    pub ions: Vec<(&'static Ion, Ratio<i64>)>,
    pub rest: Vec<(Element, Ratio<i64>)>,
    /// Whether a nitrosyl ligand occurs, whose charge no formula tells.
    pub nitrosyl: bool,
}

impl Pieces {
    /// The pieces of a unit of this charge; `None` where counts leave the range.
    ///
    /// Ions of carbon are left whole only where all carbon is in ions, because carbon binds carbon. An ion that is the
    /// whole unit must have the charge of the unit: SO3 is no sulfite.
    pub fn of(members: &[Member], charge: i32) -> Option<Pieces> {
        let mut pieces = Pieces::default();
        pieces.take(members, Ratio::one(), true)?;
        if pieces.rest.iter().any(|(element, _)| *element == Element::CARBON) {
            pieces = Pieces::default();
            pieces.take(members, Ratio::one(), false)?;
        }
        if let ([(ion, count)], []) = (pieces.ions.as_slice(), pieces.rest.as_slice())
            && ion.charge() * count != Ratio::from_integer(i64::from(charge))
        {
            let loose = ion.atoms.iter().map(|(element, number)| (*element, count * Ratio::from_integer(*number)));
            let mut whole = Pieces::default();
            for (element, number) in loose.collect::<Vec<_>>() {
                whole.add(element, number)?;
            }
            return Some(whole);
        }
        Some(pieces)
    }

    fn take(&mut self, members: &[Member], factor: Ratio<i64>, carbon: bool) -> Option<()> {
        let mut from = 0;
        while let Some(member) = members.get(from) {
            let ahead = members.get(from..).unwrap_or(&[]);
            if let Some(ion) = IONS.iter().find(|ion| (carbon || !ion.holds_carbon()) && ion.starts(ahead)) {
                self.ions.push((ion, factor));
                from += ion.atoms.len();
                continue;
            }
            match member {
                Member::Atom { element, count, .. } => self.add(*element, factor.checked_mul(count)?)?,
                Member::Group { members, count, .. } => self.group(members, factor.checked_mul(count)?, carbon)?,
            }
            from += 1;
        }
        Some(())
    }

    fn group(&mut self, members: &[Member], factor: Ratio<i64>, carbon: bool) -> Option<()> {
        let is_pair = |first: Element, second: Element| {
            let single = |member: Option<&Member>, wanted: Element| matches!(member, Some(Member::Atom { element, count, .. }) if *element == wanted && count.is_one());
            members.len() == 2 && single(members.first(), first) && single(members.get(1), second)
        };
        if is_pair(Element::CARBON, Element::OXYGEN)
            && let Some(carbonyl) = CARBONYL.as_ref().filter(|_| carbon)
        {
            self.ions.push((carbonyl, factor));
            return Some(());
        }
        self.nitrosyl |= is_pair(Element::NITROGEN, Element::OXYGEN);
        self.take(members, factor, carbon)
    }

    fn add(&mut self, element: Element, added: Ratio<i64>) -> Option<()> {
        match self.rest.iter_mut().find(|(own, _)| *own == element) {
            Some((_, count)) => *count = count.checked_add(&added)?,
            None => self.rest.push((element, added)),
        }
        Some(())
    }

    /// The charge left for the atoms besides the ions; `None` where counts leave the range.
    pub fn charge_left(&self, charge: i32) -> Option<Ratio<i64>> {
        let sum =
            |sum: Ratio<i64>, (ion, count): &(&Ion, Ratio<i64>)| sum.checked_add(&ion.charge().checked_mul(count)?);
        let ions = self.ions.iter().try_fold(Ratio::zero(), sum)?;
        Some(Ratio::from_integer(i64::from(charge)) - ions)
    }

    /// Whether a ligand or ion of this name occurs.
    pub fn has(&self, name: &str) -> bool {
        self.ions.iter().any(|(ion, _)| ion.name == name)
    }
}

#[cfg(test)]
mod tests {
    use super::{IONS, TABLE};

    /// The charges that textbooks give.
    #[test]
    fn states_count_every_atom_and_add_up_to_the_charge() {
        assert_eq!(IONS.len(), TABLE.lines().filter(|line| !line.trim().is_empty()).count());
        for ion in IONS.iter() {
            let in_states = |element| ion.states.iter().filter(|a| a.element == element).map(|a| a.count).sum::<i64>();
            let in_atoms = |element| ion.atoms.iter().filter(|(e, _)| *e == element).map(|(_, n)| n).sum::<i64>();
            assert!(ion.atoms.iter().all(|(element, _)| in_states(*element) == in_atoms(*element)), "{ion:?}");
            let expected = match ion.name {
                "ammonium" | "hydrazinium" | "hydroxylammonium" => 1,
                "ammonia" => 0,
                "phosphate" | "arsenate" => -3,
                "diphosphate" => -4,
                "oxalate" | "carbonate" | "chromate" | "dichromate" | "molybdate" | "tungstate" => -2,
                name if name.contains("sulf") || name.contains("thion") => -2,
                _ => -1,
            };
            assert_eq!(ion.charge(), expected.into(), "{ion:?}");
        }
    }
}
