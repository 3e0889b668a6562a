//! Body surface and resting energy.

use breathroom_sim::crew::{Body, Sex};

/// Mifflin, St Jeor et al., Am. J. Clin. Nutr. 51, 241 (1990): the printed equations worked out.
#[test]
fn resting_energy() {
    assert!((Body::reference().resting_kcal_d() - 1737.5).abs() < 1e-9);
    let woman = Body {
        mass_kg: 62.0,
        height_m: 1.65,
        age_y: 40.0,
        sex: Sex::Female,
        fitness_m3_kg_s: None,
    };
    assert!((woman.resting_kcal_d() - 1290.25).abs() < 1e-9);
}

/// DuBois and DuBois, Arch. Intern. Med. 17, 863 (1916) (from memory): 70 kg and 173 cm. The rounded metre form with
/// 0.202 would give 1.8285.
#[test]
fn surface() {
    let body = Body {
        mass_kg: 70.0,
        height_m: 1.73,
        ..Body::reference()
    };
    assert!((body.surface_m2() / 1.8328 - 1.0).abs() < 1e-4, "{}", body.surface_m2());
}
