//! Published projects: ours beside one pass by priority (“latest start first”), the way a board on the wall is
//! filled. `tests/bench/crew` runs it; the projects lie in `../shared/checks`.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

use serde_json::{Map, Value, json};
use std::path::Path;
use std::time::{Duration, Instant};

fn numbers(list: &Value) -> Map<String, Value> {
    list.as_array()
        .unwrap()
        .iter()
        .enumerate()
        .map(|(i, n)| (format!("r{i}"), n.clone()))
        .collect()
}

/// Steps of time until all is done when ready tasks start by latest start first, hour by hour.
fn by_board(activities: &[Value], most: &[i64]) -> i64 {
    let many = activities.len();
    let takes: Vec<i64> = activities
        .iter()
        .map(|a| a["duration"].as_i64().unwrap())
        .collect();
    let behind: Vec<Vec<usize>> = activities
        .iter()
        .map(|a| {
            a["successors"]
                .as_array()
                .unwrap()
                .iter()
                .map(|s| s.as_u64().unwrap() as usize - 1)
                .collect()
        })
        .collect();
    let mut tail = vec![0; many];
    for task in (0..many).rev() {
        tail[task] = takes[task] + behind[task].iter().map(|b| tail[*b]).max().unwrap_or(0);
    }
    let mut end: Vec<Option<i64>> = vec![None; many];
    let mut hour = 0;
    while end.iter().any(Option::is_none) {
        let mut ready: Vec<usize> = (0..many)
            .filter(|t| {
                end[*t].is_none()
                    && (0..many).all(|b| !behind[b].contains(t) || end[b].is_some_and(|e| e <= hour))
            })
            .collect();
        ready.sort_by_key(|t| std::cmp::Reverse(tail[*t]));
        let mut again = false;
        for task in ready {
            let fits = most.iter().enumerate().all(|(r, most)| {
                let used: i64 = (0..many)
                    .filter(|o| end[*o].is_some_and(|e| e > hour && e - takes[*o] <= hour))
                    .map(|o| activities[o]["req"][r].as_i64().unwrap())
                    .sum();
                used + activities[task]["req"][r].as_i64().unwrap() <= *most
            });
            if fits {
                end[task] = Some(hour + takes[task]);
                again |= takes[task] == 0;
            }
        }
        hour += i64::from(!again);
    }
    end.into_iter().flatten().max().unwrap_or(0)
}

fn main() {
    let limit: f64 = std::env::args().nth(1).map_or(10.0, |s| s.parse().unwrap());
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/checks/crew/psplib_j301_1to3.json");
    let all: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let (mut good, mut spent, mut ours_all, mut peer_all) = (0, 0.0, 0, 0);
    let instances = all["instances"].as_array().unwrap();
    for given in instances {
        let activities = given["activities"].as_array().unwrap();
        let tasks: Vec<Value> = activities.iter().map(|own| {
            let after: Vec<String> = activities.iter().filter(|a| a["successors"].as_array().unwrap().contains(&own["id"]))
                .map(|a| a["id"].to_string()).collect();
            json!({"id": own["id"].to_string(), "takes": own["duration"], "needs": numbers(&own["req"]), "after": after})
        }).collect();
        let input = json!({"resources": numbers(&given["capacity"]), "tasks": tasks, "time_limit_s": limit})
            .to_string();
        let start = Instant::now();
        let end = start + Duration::from_secs_f64(limit);
        let out = bowseam_figures::door::figure_until("crew", &input, &mut || Instant::now() >= end).unwrap();
        let took = start.elapsed().as_secs_f64();
        let out: Value = serde_json::from_str(&out).unwrap();
        let most: Vec<i64> = given["capacity"]
            .as_array()
            .unwrap()
            .iter()
            .map(|n| n.as_i64().unwrap())
            .collect();
        let (ours, peer) = (out["finish"].as_i64().unwrap(), by_board(activities, &most));
        println!(
            "{} ours {ours} bound {} published {} board {peer}  {took:.3} s",
            given["name"], out["lower_bound"], given["optimal_makespan"]
        );
        good += usize::from(out["proven"] == true && out["finish"] == given["optimal_makespan"]);
        spent += took;
        ours_all += ours;
        peer_all += peer;
    }
    println!(
        "crew: {good} of {} projects at the published optimum, proven, in {spent:.2} s; {ours_all} steps of time in all where one pass by priority takes {peer_all}",
        instances.len()
    );
}
