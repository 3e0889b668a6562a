//! The caution that every report and every printed answer carries, in one place so that none is without it.

/// What a result of this model is, and what it is not.
pub const CAUTION: &str = "Caution: this is the output of a model with stated assumptions (well-mixed compartments, ideal \
gas, fixed air temperatures, crew loads from tables). It is a design aid, not a certification and no permission to close a \
door on people. Limits for people are set by the responsible medical and safety authority. Tests with people in a closed \
volume follow local codes and licensed practice, with independent O2 and CO2 monitors and abort limits.";

#[cfg(test)]
mod tests {
    use super::CAUTION;

    #[test]
    fn it_says_what_a_result_is_not() {
        for words in [
            "design aid",
            "not a certification",
            "no permission to close a door on people",
            "medical and safety authority",
            "independent O2 and CO2 monitors",
            "abort limits",
        ] {
            assert!(CAUTION.contains(words), "{words}");
        }
    }
}
