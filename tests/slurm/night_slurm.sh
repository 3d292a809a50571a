#!/usr/bin/env bash
# A night on a real Slurm: munge, a controller and two nodes on this machine, started without systemd.
# One job of the array is killed and put into the queue again; the results must be those of one machine.
#
#   night_slurm.sh PROGRAM_FOLDER
#
# Needs Debian's slurm-wlm and munge, and root rights for both. Ends all that it started.
set -euo pipefail

programs=$(readlink -f "$1")
script=$(readlink -f "$(dirname "$0")/../../tools/slurm/night.sbatch")
export LULL=$programs/lull
for program in munged slurmctld slurmd sbatch; do
  PATH=$PATH:/usr/sbin command -v "$program" >/dev/null || {
    echo "night_slurm.sh: no $program; install slurm-wlm and munge (tools/setup.sh --ci)" >&2
    exit 1
  }
done
PATH=$PATH:/usr/sbin

work=$(mktemp -d)
pids=()
finish() {
  status=$?
  for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
  for pid in "${pids[@]}"; do wait "$pid" 2>/dev/null || true; done
  if [ "$status" -ne 0 ]; then tail -n 20 "$work"/*.log "$work"/slurm/out/night/logs/slurm-*.log 2>/dev/null || true; fi
  rm -rf "$work"
  exit "$status"
}
trap finish EXIT

wait_for() {  # SECONDS COMMAND...
  local end=$((SECONDS + $1))
  shift
  until "$@" >/dev/null 2>&1; do
    [ "$SECONDS" -lt "$end" ] || { echo "night_slurm.sh: in vain waited for: $*" >&2; return 1; }
    sleep 0.2
  done
}

# munged wants folders that nobody else can write.
chmod 755 "$work"
mkdir -m 700 "$work/munge"
mkdir -m 755 "$work/run"
dd if=/dev/urandom of="$work/munge/key" bs=128 count=1 status=none
chmod 400 "$work/munge/key"
munged --foreground --key-file "$work/munge/key" --socket "$work/run/munge" --pid-file "$work/munge/pid" \
  --log-file "$work/munge.log" --seed-file "$work/munge/seed" --force >"$work/munged.log" 2>&1 &
pids+=($!)

port=$((20000 + $$ % 20000))
host=$(hostname -s)
cat >"$work/slurm.conf" <<CONF
ClusterName=ridge
SlurmctldHost=$host(127.0.0.1)
SlurmctldPort=$port
AuthType=auth/munge
AuthInfo=socket=$work/run/munge
CredType=cred/munge
SlurmUser=root
SlurmdUser=root
StateSaveLocation=$work/state
SlurmdSpoolDir=$work/spool-%n
SlurmctldPidFile=$work/ctld.pid
SlurmdPidFile=$work/%n.pid
SlurmctldLogFile=$work/slurmctld.log
SlurmdLogFile=$work/%n.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
SchedulerType=sched/builtin
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
MpiDefault=none
ReturnToService=2
NodeName=n1 NodeHostname=$host NodeAddr=127.0.0.1 Port=$((port + 1)) CPUs=1
NodeName=n2 NodeHostname=$host NodeAddr=127.0.0.1 Port=$((port + 2)) CPUs=1
PartitionName=all Nodes=n1,n2 Default=YES MaxTime=INFINITE State=UP
CONF
export SLURM_CONF=$work/slurm.conf
mkdir -p "$work/state" "$work/spool-n1" "$work/spool-n2"
wait_for 10 test -S "$work/run/munge"
slurmctld -D >"$work/controller.log" 2>&1 &
pids+=($!)
for node in n1 n2; do
  slurmd -D -N "$node" >"$work/node-$node.log" 2>&1 &
  pids+=($!)
done
idle() { [ "$(sinfo --noheader --Node --states=idle --format=%N | wc -l)" -eq 2 ]; }
wait_for 30 idle

mkdir -p "$work/in" "$work/alone" "$work/slurm"
# Names without numbers: pictures whose names differ by a number alone are a capture.
seed=0
for name in mars_a mars_b mars_c mars_d; do
  seed=$((seed + 1))
  "$programs/lull-sim" mars-good -o "$work/in" --frames 60 --size 96x96 --name "$name" --seed "$seed" --quiet >/dev/null
done
(cd "$work/alone" && "$LULL" night ../in -o out --quiet)

cd "$work/slurm"
"$script" ../in out
array=$(squeue --noheader --format=%A --name=night --states=all | head -n 1)
# The first that runs is killed, and comes again.
running() { squeue --noheader --states=running --name=night | grep -q .; }
wait_for 20 running
task=$(squeue --noheader --states=running --name=night --format=%i | head -n 1)
scontrol requeue "$task"
# Slurm lets it wait for two minutes.
pending() { squeue --noheader --states=pending --format=%i --job="$task" | grep -q .; }
wait_for 30 pending
scontrol update JobId="$task" StartTime=now
done_all() { [ -z "$(squeue --noheader --format=%i)" ] && [ -f out/night.html ]; }
wait_for 120 done_all

restarts=$(scontrol show job "$task" | grep -o "Restarts=[0-9]*" || true)
[ "$restarts" = Restarts=1 ] || { echo "night_slurm.sh: job $task of $array: ${restarts:-no record}, wanted Restarts=1" >&2; exit 1; }
for file in "$work"/alone/out/*.tif "$work"/alone/out/*.recipe.json "$work"/alone/out/night.csv; do
  cmp "$file" "out/$(basename "$file")"
done
echo "night_slurm.sh: 4 pictures on 2 nodes, one put into the queue again: the same bytes as on one machine"
