//! The names that a file gives to things.

use std::collections::BTreeMap;

use super::keys::What;

/// What stands before a person's name where the inside of their suit is meant.
pub(super) const SUIT: &str = "suit:";

/// Names of one kind, in file order.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    pub list: Vec<String>,
    places: BTreeMap<String, usize>,
}

impl Index {
    /// Adds a name; false if it is there already.
    pub fn add(&mut self, name: &str) -> bool {
        if self.places.contains_key(name) {
            return false;
        }
        self.places.insert(name.to_owned(), self.list.len());
        self.list.push(name.to_owned());
        true
    }

    pub fn get(&self, name: &str) -> Option<usize> {
        self.places.get(name).copied()
    }
}

/// Every name.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    pub compartments: Index,
    pub openings: Index,
    pub devices: Index,
    /// The kind of each device, as written.
    pub device_kinds: Vec<String>,
    pub tanks: Index,
    pub fans: Index,
    /// The devices that each fan feeds.
    pub fed: Vec<Vec<usize>>,
    pub people: Index,
    /// People who have a suit, in the order of the suits.
    pub suits: Index,
    /// Built-in ones first.
    pub efforts: Index,
    pub equipment: Index,
    pub tasks: Index,
    pub faults: Index,
    pub alarms: Index,
    pub sensors: Index,
    pub buses: Index,
    pub limit_sets: Index,
    /// Openings that lead onto a vacuum.
    pub vacuum_openings: Vec<usize>,
}

impl Known {
    fn of(&self, what: What) -> &Index {
        match what {
            What::Compartment | What::Place | What::Gas => &self.compartments,
            What::Opening => &self.openings,
            What::Device | What::Switched => &self.devices,
            What::Fan => &self.fans,
            What::Tank => &self.tanks,
            What::Suit => &self.suits,
            What::Person => &self.people,
            What::Effort => &self.efforts,
            What::Equipment => &self.equipment,
            What::Task => &self.tasks,
            What::Fault => &self.faults,
            What::Sensor => &self.sensors,
            What::LimitSet => &self.limit_sets,
        }
    }

    /// The index of a name. Of what can be switched, fans come after the devices.
    pub fn index(&self, what: What, name: &str) -> Option<usize> {
        if let (What::Gas, Some(person)) = (what, name.strip_prefix(SUIT)) {
            return self.suits.get(person).map(|n| self.compartments.list.len() + n);
        }
        if what == What::Switched {
            let fan = || Some(self.devices.list.len() + self.fans.get(name)?);
            return self.devices.get(name).or_else(fan);
        }
        self.of(what).get(name)
    }

    /// All names that would be right.
    pub fn list(&self, what: What) -> Vec<String> {
        let mut list = self.of(what).list.clone();
        if what == What::Place {
            list.push("outside".to_owned());
        }
        if what == What::Gas {
            list.extend(self.suits.list.iter().map(|person| format!("{SUIT}{person}")));
        }
        if what == What::Switched {
            list.extend(self.fans.list.iter().cloned());
        }
        list
    }
}
