//! What `check` says, on the medians, of stocks and of the plan: before any air is simulated.

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::Names;
use breathroom_sim::units::Time;
use serde::Serialize;

use crate::results::numbers::{clock, short, with_unit};
use crate::results::words;

/// Tasks that are named.
const MOST_NAMED: usize = 5;

/// A tank as filled.
#[derive(Serialize)]
pub struct Tank {
    tank: String,
    gas: &'static str,
    amount_kg: f64,
    reserve_kg: f64,
    residue_kg: f64,
}

/// A turn of a task, if nobody waits.
#[derive(Serialize)]
pub struct Planned {
    task: String,
    start_h: f64,
    end_h: f64,
}

/// The tanks.
pub fn tanks(case: &Case, names: &Names) -> Vec<Tank> {
    let tank = |(index, tank): (usize, &breathroom_sim::air::Tank)| {
        let kg = |mol: f64| mol * tank.gas.molar_mass_kg_mol();
        Tank {
            tank: words::tank(names, index).to_owned(),
            gas: words::species(tank.gas),
            amount_kg: kg(tank.amount_mol),
            reserve_kg: kg(tank.reserve_mol),
            residue_kg: kg(tank.residue_mol),
        }
    };
    case.tanks.iter().enumerate().map(tank).collect()
}

/// "oxygen: 24 kg of oxygen, of which 4 kg are a reserve and 0.5 kg cannot be delivered".
pub fn told_tank(tank: &Tank) -> String {
    let mut parts = Vec::new();
    if tank.reserve_kg > 0.0 {
        parts.push(format!("{} are a reserve", with_unit(tank.reserve_kg, "kg")));
    }
    if tank.residue_kg > 0.0 {
        parts.push(format!("{} cannot be delivered", with_unit(tank.residue_kg, "kg")));
    }
    let parts = if parts.is_empty() {
        String::new()
    } else {
        format!(", of which {}", parts.join(" and "))
    };
    format!("{}: {} kg of {}{parts}", tank.tank, short(tank.amount_kg), tank.gas)
}

/// Every turn of every task.
pub fn plan(case: &Case, names: &Names) -> Vec<Planned> {
    let planned = case.plan.planned();
    let each = planned.iter().enumerate().map(|(index, planned)| Planned {
        task: words::task(names, index),
        start_h: planned.start.hours(),
        end_h: planned.end.hours(),
    });
    each.collect()
}

/// What the plan amounts to; nothing without tasks.
pub fn told_plan(plan: &[Planned], duration: Time) -> Option<String> {
    let last = plan.iter().max_by(|a, b| a.end_h.total_cmp(&b.end_h))?;
    let beyond: Vec<&str> = plan
        .iter()
        .filter(|task| task.end_h > duration.hours())
        .map(|task| task.task.as_str())
        .collect();
    let more = match beyond.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let beyond = if beyond.is_empty() {
        String::new()
    } else {
        let named = beyond[..beyond.len().min(MOST_NAMED)].join(", ");
        format!(
            " Past the end of the run at {}: {named}{more}.",
            clock(duration.hours())
        )
    };
    Some(format!(
        "{}; if nobody waits for people, equipment or space the last, {}, ends at {}.{beyond}",
        words::count(plan.len(), "task"),
        last.task,
        clock(last.end_h)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn task(name: &str, end_h: f64) -> Planned {
        Planned {
            task: name.to_owned(),
            start_h: 0.0,
            end_h,
        }
    }

    #[test]
    fn a_plan_is_told_by_its_last_task_and_by_what_is_past_the_run() {
        let run = Time::from_seconds(72.0 * 3600.0);
        let plan = [task("sleep", 8.0), task("out", 73.5), task("doff", 72.0)];
        assert_eq!(
            told_plan(&plan, run).expect("tasks"),
            "3 tasks; if nobody waits for people, equipment or space the last, out, ends at 73 h 30 min. Past the end of \
             the run at 72 h 00 min: out."
        );
        assert_eq!(told_plan(&[], run), None);
    }

    #[test]
    fn a_tank_tells_its_reserve_and_its_residue_where_it_has_them() {
        let mut tank = Tank {
            tank: "main".to_owned(),
            gas: "oxygen",
            amount_kg: 24.0,
            reserve_kg: 4.0,
            residue_kg: 0.5,
        };
        assert_eq!(
            told_tank(&tank),
            "main: 24 kg of oxygen, of which 4 kg are a reserve and 0.5 kg cannot be delivered"
        );
        (tank.reserve_kg, tank.residue_kg) = (0.0, 0.0);
        assert_eq!(told_tank(&tank), "main: 24 kg of oxygen");
    }
}
