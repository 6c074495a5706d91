#!/usr/bin/env python3
"""Does a study on a real Slurm whose node dies in the middle, and compares it with the study of one machine.

    tests/cluster.py [STUDY] [--program PROGRAM] [--shards N] [--keep]

Starts a controller and two nodes of Slurm on this machine, in a temporary folder and on free ports, submits what `study slurm` prints for
STUDY (cases/layouts.study.yaml), kills one node and what runs on it, waits until its task was queued again and all tasks are done
and gathered, and does the study once more without a cluster. Fails unless both tables are the same and each run was written once. Needs
root, python3 and Debian's slurmctld, slurmd, slurm-client and munge; no service of the system is touched.
"""

import argparse
import getpass
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

WORKSPACE = Path(__file__).resolve().parent.parent
BUILT = Path(os.environ.get("CARGO_TARGET_DIR", WORKSPACE / "target")) / "debug" / "tractwright"
STUDY = WORKSPACE / "cases" / "layouts.study.yaml"
TOOLS = ["slurmctld", "slurmd", "sbatch", "squeue", "sinfo", "scontrol", "munged", "mungekey"]
# Nothing here should take longer than this [s].
PATIENCE = 270
# Lines of a share after which its node is killed.
AMIDST = 5
# Life of a credential [s]. A task of a dead node waits as long before it starts again, by default two minutes: slurm.conf(5), AuthInfo.
CREDENTIAL = 5

CONFIGURATION = """\
ClusterName=trial
SlurmctldHost={host}(127.0.0.1)
SlurmUser={user}
SlurmdUser={user}
AuthType=auth/munge
AuthInfo=socket={folder}/munge.socket,cred_expire={credential}
CredType=cred/munge
SlurmctldPort={ports[0]}
SlurmctldPidFile={folder}/slurmctld.pid
SlurmdPidFile={folder}/slurmd.%n.pid
StateSaveLocation={folder}/state
SlurmdSpoolDir={folder}/spool.%n
SlurmctldLogFile={folder}/slurmctld.log
SlurmdLogFile={folder}/slurmd.%n.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SwitchType=switch/none
MpiDefault=none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SlurmdParameters=config_overrides
ReturnToService=2
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerType=sched/backfill
SchedulerParameters=sched_interval=1,bf_interval=1
SlurmdTimeout=30
MinJobAge=300
NodeName=n1 NodeHostname={host} NodeAddr=127.0.0.1 Port={ports[1]} CPUs=1 State=UNKNOWN
NodeName=n2 NodeHostname={host} NodeAddr=127.0.0.1 Port={ports[2]} CPUs=1 State=UNKNOWN
PartitionName=main Nodes=n1,n2 Default=YES MaxTime=INFINITE State=UP
"""


class Fault(Exception):
    """What did not go as it should."""


def check(holds, what):
    if not holds:
        raise Fault(what)


def until(what, condition, pause=0.25):
    """Waits until `condition` answers with something true, and answers with it."""
    end = time.monotonic() + PATIENCE
    while not (answer := condition()):
        check(time.monotonic() < end, f"waited {PATIENCE} s for {what}")
        time.sleep(pause)
    return answer


def free_ports(count):
    sockets = [socket.socket() for _ in range(count)]
    for one in sockets:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in sockets]
    for one in sockets:
        one.close()
    return ports


class Cluster:
    """A controller, two nodes and what proves to each who the others are."""

    def __init__(self, folder):
        self.folder = folder
        self.environment = {**os.environ, "SLURM_CONF": str(folder / "slurm.conf")}
        self.daemons = {}

    def start(self):
        for name in ["state", "spool.n1", "spool.n2"]:
            (self.folder / name).mkdir()
        host, user = socket.gethostname().split(".")[0], getpass.getuser()
        facts = {"host": host, "user": user, "folder": self.folder, "ports": free_ports(3), "credential": CREDENTIAL}
        (self.folder / "slurm.conf").write_text(CONFIGURATION.format(**facts))
        self.call("mungekey", "--create", f"--keyfile={self.folder}/munge.key")
        files = [("key-file", "key"), ("socket", "socket"), ("pid-file", "pid"), ("log-file", "log"), ("seed-file", "seed")]
        self.daemon("munged", "--foreground", "--force", *(f"--{what}={self.folder}/munge.{end}" for what, end in files))
        until("munged", (self.folder / "munge.socket").exists)
        self.daemon("slurmctld", "-D", "-c", "-i")
        for node in ["n1", "n2"]:
            self.node(node)
        until("two idle nodes", lambda: self.states() == {"n1": "idle", "n2": "idle"})

    def daemon(self, *command, name=None):
        with open(self.folder / f"{name or command[0]}.out", "a") as out:
            child = subprocess.Popen(command, env=self.environment, stdout=out, stderr=out, start_new_session=True)
        self.daemons[name or command[0]] = child

    def node(self, name):
        self.daemon("slurmd", "-D", "-N", name, name=name)

    def call(self, *command, **more):
        """What a command prints."""
        done = subprocess.run(command, env=self.environment, cwd=self.folder, text=True, capture_output=True, **more)
        check(done.returncode == 0, f"{' '.join(command)}: exit code {done.returncode}\n{done.stdout}{done.stderr}")
        return done.stdout

    def states(self):
        """States of the nodes by name; nothing as long as the controller does not answer."""
        ended = [name for name, child in self.daemons.items() if child.poll() is not None]
        check(not ended, f"{', '.join(ended)} ended at once: {[(self.folder / f'{name}.out').read_text() for name in ended]}")
        lines = subprocess.run(
            ["sinfo", "-h", "-N", "-o", "%N %t"], env=self.environment, text=True, capture_output=True
        ).stdout.splitlines()
        return dict(line.split() for line in lines)

    def on(self, node):
        """Numbers of the job and of the task of the array that run on a node; nothing when none does."""
        return self.call("squeue", "-h", "-w", node, "-t", "RUNNING", "-o", "%A %K").split()[:2]

    def about(self, job):
        """What the controller knows of each task of a job."""
        blocks = self.call("scontrol", "-o", "show", "job", job).splitlines()
        return [dict(word.split("=", 1) for word in block.split() if "=" in word) for block in blocks]

    def keepers(self):
        """Processes of this cluster that stand between a node and its tasks, by process."""
        found = {}
        for entry in Path("/proc").iterdir():
            if not entry.name.isdigit():
                continue
            try:
                name = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
                ours = f"SLURM_CONF={self.folder}/slurm.conf".encode() in (entry / "environ").read_bytes().split(b"\0")
            except OSError:
                continue
            if ours and "slurmstepd" in name:
                found[int(entry.name)] = name
        return found

    def kill_node(self, node, job):
        """Kills a node as a loss of power would: the daemon, what keeps the task, the task."""
        keepers = [process for process, name in self.keepers().items() if f"[{job}." in name]
        check(len(keepers) == 1, f"found {keepers} that keep job {job}, expected one")
        for process in [self.daemons[node].pid, *keepers, *below(keepers)]:
            os.kill(process, signal.SIGKILL)
        self.daemons.pop(node).wait()

    def stop(self):
        """Ends all that was started, whatever state it is in."""
        for child in self.daemons.values():
            child.kill()
            child.wait()
        # Only then: a node may have been about to start one more.
        keepers = list(self.keepers())
        for process in keepers + below(keepers):
            try:
                os.kill(process, signal.SIGKILL)
            except ProcessLookupError:
                pass


def below(parents):
    """The processes that others started, and those that these started."""
    children = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                parent = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
            except OSError:
                continue
            children.setdefault(parent, []).append(int(entry.name))
    found, waiting = [], list(parents)
    while waiting:
        own = children.get(waiting.pop(), [])
        found += own
        waiting += own
    return found


def lines_of(journal):
    """The whole lines of a journal, none where there is no journal yet."""
    text = journal.read_bytes() if journal.exists() else b""
    return text[: text.rfind(b"\n") + 1].splitlines()


def trial(cluster, program, study, shards):
    """Does the study on the cluster; answers with what happened, as rows of a table."""
    folder, spread = cluster.folder, cluster.folder / "spread over nodes"
    script = cluster.call(program, "study", "slurm", str(study), "--shards", str(shards), "-o", str(spread))
    name = next(line.split("=")[1] for line in script.splitlines() if line.startswith("#SBATCH --job-name"))
    (folder / f"{name}.sh").write_text(script)
    # What the script says about submitting it is what is done, with the numbers of the jobs printed.
    lines = [line.removeprefix("#   ") for line in script.splitlines() if line.startswith("#   ")]
    check(len(lines) == 2, f"the script tells how to submit it in {len(lines)} lines")
    submitted = cluster.call("bash", "-euc", f"{lines[0]}\n{lines[1]}\necho $job").split()
    array, gathering = submitted[-1], submitted[-2]

    job, task = until("a task on n2", lambda: cluster.on("n2"))
    journal = spread / f"runs.{task}-of-{shards}.journal"
    until("runs of that task", lambda: len(lines_of(journal)) >= AMIDST, pause=0.005)
    cluster.kill_node("n2", job)
    killed, kept = time.monotonic(), lines_of(journal)
    cluster.call("scontrol", "update", "nodename=n2", "state=down", "reason=killed")

    def again():
        about = cluster.about(job)[0]
        return about["Restarts"] == "1" and about["JobState"] in ["RUNNING", "COMPLETED"]

    until("the task in the queue again", lambda: cluster.about(job)[0]["Restarts"] == "1")
    cluster.node("n2")
    until("the task to run again", again)
    waited = time.monotonic() - killed
    until("all tasks and the gathering", lambda: not cluster.call("squeue", "-h").strip())

    tasks = cluster.about(array)
    states = sorted(f"{about['ArrayTaskId']} {about['JobState']}" for about in tasks)
    check(states == sorted(f"{number} COMPLETED" for number in range(1, shards + 1)), f"tasks: {states}")
    check(sum(int(about["Restarts"]) for about in tasks) == 1, f"restarts: {[about['Restarts'] for about in tasks]}")
    check([about["JobState"] for about in cluster.about(gathering)] == ["COMPLETED"], "the gathering failed")
    check((spread / "table.h5").exists(), "the gathering made no table")

    alone = folder / "alone"
    told = cluster.call(program, "study", str(study), "-o", str(alone), "--format", "csv")
    gathered = cluster.call(program, "study", "gather", str(study), "-o", str(spread), "--format", "csv")
    check(told == gathered, f"the tables differ, see {alone} and {spread}")
    # Both as lines of CSV: a head, then a line a run.
    runs = len(gathered.splitlines()) - 1
    now = lines_of(journal)
    check(now[: len(kept)] == kept, "what the killed task had written is not there any more")
    check(len(kept) < len(now), "the killed task had been done already")
    written = [line.split(b'"id":"')[1][:32] for path in spread.glob("*.journal") for line in lines_of(path)]
    check(len(written) == runs == len(set(written)), f"{len(written)} lines of {len(set(written))} runs, expected {runs}")
    read = shares_of_array(cluster, program, study, spread, shards)
    return [
        ("tasks of the array", f"{len(tasks)} on 2 nodes, all completed"),
        ("node n2", f"killed with task {task} after {len(kept)} of its {len(now)} runs"),
        ("queued again", f"task {task}, once; it ran again {waited:.1f} s after the kill"),
        ("runs written before the kill and lost", "0"),
        ("runs written", f"{len(written)} of {runs}"),
        ("runs written twice", "0"),
        ("table", f"that of one machine in all {len(gathered.split(','))} values"),
        ("shares read from the environment", read),
    ]


def shares_of_array(cluster, program, study, spread, shards):
    """Tasks without a share on their command line read it from what Slurm sets."""
    array = f"3-{1 + 2 * shards}:2"
    call = f"'{program}' study '{study}' -o '{spread}' --dry-run"
    cluster.call("sbatch", "--wait", f"--array={array}", "--cpus-per-task=1", "--output=read.%a.log", f"--wrap={call}")
    for share in range(1, shards + 1):
        log = (cluster.folder / f"read.{1 + 2 * share}.log").read_text()
        wanted = [f"share {share} of {shards}, from SLURM_ARRAY", "runs at a time: 1, from SLURM_CPUS", " 0 are to be done"]
        check(all(words in log for words in wanted), f"task {1 + 2 * share} of {array}: {log}")
    return f"1 to {shards} of {shards} in tasks {array}"


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("study", nargs="?", type=Path, default=STUDY)
    parser.add_argument("--program", type=Path, default=BUILT)
    parser.add_argument("--shards", type=int, default=4)
    parser.add_argument("--keep", action="store_true", help="leave the folder with all logs and tables")
    chosen = parser.parse_args()
    missing = [tool for tool in TOOLS if not shutil.which(tool)]
    if missing:
        sys.exit(f"missing {', '.join(missing)}: sudo apt-get install slurmctld slurmd slurm-client munge")
    if not chosen.program.exists():
        sys.exit(f"{chosen.program} is missing: run `cargo build --workspace` first")
    # An end from outside ends the cluster too.
    for name in [signal.SIGTERM, signal.SIGHUP]:
        signal.signal(name, lambda number, _: sys.exit(128 + number))
    started, folder = time.monotonic(), Path(tempfile.mkdtemp(prefix="cluster."))
    cluster, held = Cluster(folder), False
    try:
        cluster.start()
        rows = trial(cluster, str(chosen.program.resolve()), chosen.study.resolve(), chosen.shards)
        rows.append(("time", f"{time.monotonic() - started:.0f} s"))
        for name, value in rows:
            print(f"{name:40}{value}")
        held = True
    except Fault as fault:
        print(f"FAILED: {fault}", file=sys.stderr)
        for log in sorted(folder.glob("*.log")):
            print(f"--- the end of {log.name}\n" + "\n".join(log.read_text().splitlines()[-15:]), file=sys.stderr)
    finally:
        cluster.stop()
        if chosen.keep:
            print(f"all of it in {folder}")
        else:
            shutil.rmtree(folder, ignore_errors=True)
    sys.exit(0 if held else 1)


if __name__ == "__main__":
    main()
