//! Tests of what is said of faults, alarms and responses.

use super::Ordered;
use super::sample::{limit, run, vary};
use super::summary::{Alarm, AlarmStatistics, Fault, In, Response, ResponseStatistics, TaskTimes, TaskUpset};
use super::wrong::sentences;

fn alarm(first_on_h: Option<f64>, [trips, false_trips, occasions, missed]: [u32; 4]) -> Alarm {
    Alarm {
        alarm: "co2_high".to_owned(),
        level: "warning",
        first_on_h,
        trips,
        false_trips,
        occasions,
        missed,
        first_occasion_h: (occasions > 0).then_some(5.0),
        on_h: 0.5,
        statistics: None,
    }
}

fn response(began_h: Option<f64>, done_h: Option<f64>, attempts: u32, failed: bool) -> Response {
    Response {
        alarm: "co2_high".to_owned(),
        occurrence: 1,
        tripped_h: 6.0,
        began_h,
        done_h,
        people: began_h.map(|_| "keeper".to_owned()).into_iter().collect(),
        attempts,
        failed,
    }
}

fn fault(fault: &str, began_h: Option<f64>) -> Fault {
    Fault {
        fault: fault.to_owned(),
        began_h,
        ended_h: None,
        repaired: false,
        began_in: None,
    }
}

fn task(task: &str, took_h: f64, upset: TaskUpset) -> TaskTimes {
    TaskTimes {
        task: task.to_owned(),
        planned_end_h: 2.0,
        start_h: Some(1.0),
        end_h: Some(1.0 + took_h),
        upset: Some(upset),
        ..TaskTimes::default()
    }
}

#[test]
fn what_no_one_was_told_of_and_what_was_not_done_come_first() {
    let mut summary = run(vec![limit("co2-1h", 0.6)]);
    assert!(sentences(&summary).is_empty());
    summary.faults = vec![fault("early", Some(4.0)), fault("late", Some(8.0)), fault("none", None)];
    summary.alarms = vec![alarm(Some(6.0), [1, 0, 2, 1])];
    summary.responses = vec![response(None, None, 0, false)];
    assert_eq!(
        sentences(&summary),
        [
            "Alarm co2_high MISSED 1 of 2 occasions: it was off all the while that the truth was beyond its set point (the \
             first was long enough for it at 5 h 00 min).",
            "The response to alarm co2_high at 6 h 00 min WAS NOT BEGUN when the run ended at 72 h 00 min: the time to react \
             was not over, or no one could be had for it.",
            "NO ALARM came on after fault late (8 h 00 min).",
            "What went wrong: early at 4 h 00 min, late at 8 h 00 min.",
            "Alarm co2_high (warning) came on at 6 h 00 min, 1 h 00 min after its first occasion.",
        ]
    );
    // If it came on again after the first time, whether before or after the fault is not known.
    summary.alarms = vec![alarm(Some(6.0), [2, 2, 0, 0])];
    summary.responses = vec![
        response(Some(6.1), None, 3, true),
        response(Some(6.1), None, 1, false),
        response(Some(6.1), Some(6.5), 2, false),
    ];
    let said = sentences(&summary).join("\n");
    assert!(!said.contains("NO ALARM"), "{said}");
    for told in [
        "GIVEN UP after 3 attempts by keeper",
        "WAS NOT DONE when the run ended at 72 h 00 min; keeper began it at 6 h 06 min.",
        "came on at 6 h 00 min; 2 times in all, 2 of them FALSELY.",
        "was done by keeper, 0 h 30 min after the alarm, at attempt 2.",
    ] {
        assert!(said.contains(told), "no `{told}` in {said}");
    }
}

#[test]
fn tasks_tell_what_responses_cost() {
    let upset = |interruptions, dropped, recalled| TaskUpset {
        interruptions,
        dropped,
        recalled,
    };
    let mut summary = run(Vec::new());
    summary.schedule.tasks = vec![
        task("calm", 2.0, upset(0, false, false)),
        task("samples", 2.25, upset(2, false, false)),
        task("exercise", 0.5, upset(1, true, false)),
        task("out", 1.0, upset(0, false, true)),
    ];
    assert_eq!(
        sentences(&summary),
        [
            "1 task dropped for a response: exercise (1 h 30 min left undone).",
            "1 task outside cut short by a recall: out (by 1 h 00 min).",
            "1 task interrupted for a response: samples (2 times, 0 h 15 min longer).",
        ]
    );
}

#[test]
fn over_variations_the_worst_of_each_is_told_with_its_interval() {
    let of = |variations, probability, probability_95| In {
        variations,
        probability,
        probability_95,
    };
    let none = of(0, 0.0, [0.0, 0.004]);
    let mut summary = vary(vec![(limit("co2-1h", 0.6), Some(0.1))]);
    let mut silent = alarm(None, [0, 0, 1, 1]);
    silent.statistics = Some(AlarmStatistics {
        came_on_in: of(990, 0.99, [0.98, 0.995]),
        false_in: none,
        occasion_in: of(1000, 1.0, [0.996, 1.0]),
        missed_in: of(10, 0.01, [0.005, 0.018]),
        first_on_h_quantiles: Ordered::default(),
        delays: 990,
        delay_h_quantiles: [("0.95".to_owned(), 0.75)].into_iter().collect(),
    });
    summary.alarms = vec![silent];
    summary.responses_in_variations = vec![ResponseStatistics {
        alarm: "co2_high".to_owned(),
        called_in: of(990, 0.99, [0.98, 0.995]),
        done_in: of(980, 0.98, [0.97, 0.99]),
        given_up_in: of(4, 0.004, [0.001, 0.01]),
        times: 982,
        alarm_to_done_h_quantiles: [("0.5".to_owned(), 0.5), ("0.95".to_owned(), 1.0)]
            .into_iter()
            .collect(),
    }];
    assert_eq!(
        sentences(&summary),
        [
            "Alarm co2_high MISSED an occasion in 10 of 1000 variations (1 %, 95 % interval 0.5 % to 1.8 %; 1000 had one), \
             never came on falsely, and came on in 990. Where it came on and there was an occasion, in 95 % it came on no \
             later than 0 h 45 min after the first occasion.",
            "The response to alarm co2_high was NOT DONE in 10 of the 990 variations that called for it, given up in 4; where \
             it was done, within 1 h 00 min of the alarm in 95 % (0 h 30 min in the median).",
            "On the medians: alarm co2_high MISSED 1 of 1 occasion: it was off all the while that the truth was beyond its \
             set point (the first was long enough for it at 5 h 00 min).",
        ]
    );
}
