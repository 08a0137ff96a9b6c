//! Chances of being in time against closed forms.

use crate::made::workshop;
use workplan::{Calendar, Effort, Link, Plays, Project, Resource, Spread, Task, WorkError};

fn chain(n: usize, minutes: i64, spread: Spread) -> Project {
    let mut tasks: Vec<Task> = (0..n).map(|k| Task::new(format!("task {k}"), minutes).using(0, 1)).collect();
    tasks.iter_mut().for_each(|t| t.spread = spread);
    let links = (1..n).map(|k| Link::after(k - 1, k)).collect();
    let resources = vec![Resource { name: "hands".into(), capacity: 1, calendar: Calendar::always() }];
    Project { resources, tasks, links, begin: 0, due: None }
}

/// The sum of n even numbers in 0 to 1 is at most x with this chance (Irwin 1927, Hall 1927).
fn irwin_hall(n: u32, x: f64) -> f64 {
    let (mut sum, mut choose, mut factorial) = (0.0, 1.0, 1.0);
    for k in 0..=n {
        let left = x - f64::from(k);
        if left > 0.0 {
            let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
            sum += sign * choose * (0..n).fold(1.0, |p, _| p * left);
        }
        choose = choose * f64::from(n - k) / f64::from(k + 1);
    }
    (1..=n).for_each(|k| factorial *= f64::from(k));
    sum / factorial
}

#[test]
fn a_chain_of_triangular_lengths_ends_in_time_as_often_as_the_closed_form_says() -> Result<(), WorkError> {
    // A symmetric triangle from 0 to 2 is the sum of two even numbers, so four tasks are the sum of eight.
    let project = chain(4, 100_000, Spread { shares: [0.0, 1.0, 2.0], failing: 0.0 });
    let plan = project.solve(&Effort::default())?;
    assert_eq!((plan.finish, plan.is_proved()), (400_000, true));
    let runs = 20_000;
    let chance = project.chance(&plan, &Plays { seed: 3, runs })?;
    for x in [2.5, 3.2, 4.0, 4.4, 5.0, 6.0] {
        let want = irwin_hall(8, x);
        let got = chance.by((x * 100_000.0) as i64);
        // Four standard errors.
        let error = 4.0 * (want * (1.0 - want) / f64::from(runs)).sqrt();
        assert!((got - want).abs() < error, "{x}: {got} for {want}");
    }
    assert!((irwin_hall(8, 4.0) - 0.5).abs() < 1e-12);
    assert_eq!(chance.minute(0.5), Some(chance.finishes[9999]));
    assert_eq!(chance, project.chance(&plan, &Plays { seed: 3, runs })?);
    assert_ne!(chance, project.chance(&plan, &Plays { seed: 4, runs })?);
    Ok(())
}

#[test]
fn a_lopsided_triangle_has_its_mean_and_failures_their_number() -> Result<(), WorkError> {
    let runs = 20_000;
    // Mean (a + b + c) / 3 of a triangle; with one trial in four failing, 4/3 trials.
    let spread = Spread { shares: [0.8, 1.0, 1.8], failing: 0.25 };
    let project = chain(1, 10_000, spread);
    let chance = project.chance(&project.solve(&Effort::default())?, &Plays { seed: 1, runs })?;
    let mean = chance.finishes.iter().sum::<i64>() as f64 / f64::from(runs);
    let want = 10_000.0 * 1.2 / 0.75;
    // The number of trials varies by its mean times a quarter's root over three quarters' ... 0.667 at most.
    assert!((mean - want).abs() < 4.0 * 10_000.0 * 1.2 * 0.7 / f64::from(runs).sqrt(), "{mean} for {want}");
    // Below the likeliest with (b - a) / (c - a), and no second trial: never shorter than two shortest.
    let once = chance.by(10_000);
    assert!((once - 0.75 * 0.2).abs() < 4.0 * (0.15 * 0.85 / f64::from(runs)).sqrt(), "{once}");
    Ok(())
}

#[test]
fn sure_lengths_end_when_planned_and_unsure_ones_later() -> Result<(), WorkError> {
    let mut project = workshop(8, 40);
    let effort = Effort { orders: 40, steps: 0, ..Effort::default() };
    let plan = project.solve(&effort)?;
    let chance = project.chance(&plan, &Plays { seed: 1, runs: 200 })?;
    assert!(chance.by(plan.finish) < 0.6, "{}", chance.by(plan.finish));
    assert!(chance.by(plan.finish + 30 * 1440) > 0.9);
    project.tasks.iter_mut().for_each(|t| t.spread = Spread::NONE);
    let sure = project.chance(&plan, &Plays { seed: 1, runs: 5 })?;
    assert_eq!((sure.finishes.first(), sure.spoilt), (sure.finishes.last(), 0));
    let band = chance.band(0.5);
    assert!(band[0] > 0.42 && band[1] < 0.58 && band[0] < 0.5);
    Ok(())
}
