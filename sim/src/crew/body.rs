//! Body data: surface and resting energy.
//!
//! ```text
//! surface         A = 0.007184 m^0.425 h^0.725           m2, kg, cm
//! resting energy  E = 10 m + 6.25 h - 5 a + s            kcal/d, kg, cm, years; s = 5 (male), -161 (female)
//! ```
//!
//! Sources: DuBois and DuBois, Arch. Intern. Med. 17, 863 (1916) (from memory; the rounded metre form with 0.202 is
//! 0.2 % less); Mifflin, St Jeor et al., Am. J. Clin. Nutr. 51, 241 (1990).
//!
//! Range: adults; Mifflin-St Jeor is fitted to 19 to 78 years and both normal and high body mass.
//!
//! Left out: body composition, acclimatisation, weightlessness.

/// Joules in a kilocalorie (thermochemical).
pub const J_PER_KCAL: f64 = 4184.0;

/// Seconds in a day.
const DAY_S: f64 = 86_400.0;

/// Sex, as far as the resting energy depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sex {
    /// Female.
    Female,
    /// Male.
    Male,
}

/// Body data of one person.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Stature, m.
    pub height_m: f64,
    /// Age, years.
    pub age_y: f64,
    /// Sex.
    pub sex: Sex,
    /// Maximal oxygen uptake for body mass, m3 STPD/kg/s, if known.
    pub fitness_m3_kg_s: Option<f64>,
}

impl Body {
    /// The reference person for whom the built-in efforts are stated: 82 kg, 1.78 m, 40 years, male (the crew member
    /// of NASA's human integration design handbook, SP-2010-3407, from memory).
    #[must_use]
    pub const fn reference() -> Self {
        Self {
            mass_kg: 82.0,
            height_m: 1.78,
            age_y: 40.0,
            sex: Sex::Male,
            fitness_m3_kg_s: None,
        }
    }

    /// Body surface, m2 (DuBois 1916).
    #[must_use]
    pub fn surface_m2(&self) -> f64 {
        0.007_184 * libm::pow(self.mass_kg, 0.425) * libm::pow(100.0 * self.height_m, 0.725)
    }

    /// Resting energy, kcal/d (Mifflin-St Jeor 1990). Never negative, however far out of range the body is.
    #[must_use]
    pub fn resting_kcal_d(&self) -> f64 {
        let sex = match self.sex {
            Sex::Female => -161.0,
            Sex::Male => 5.0,
        };
        (10.0 * self.mass_kg + 625.0 * self.height_m - 5.0 * self.age_y + sex).max(0.0)
    }

    /// Resting energy, W.
    #[must_use]
    pub fn resting_w(&self) -> f64 {
        self.resting_kcal_d() * J_PER_KCAL / DAY_S
    }

    /// Maximal oxygen uptake, m3 STPD/s, if known.
    #[must_use]
    pub fn maximal_uptake_m3_s(&self) -> Option<f64> {
        self.fitness_m3_kg_s.map(|fitness| fitness * self.mass_kg)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_child_of_fancy_has_no_negative_energy() {
        let body = Body {
            mass_kg: 10.0,
            height_m: 0.5,
            age_y: 300.0,
            sex: Sex::Female,
            fitness_m3_kg_s: None,
        };
        assert!(body.resting_w().abs() < 1e-12);
    }
}
