#!/usr/bin/env bash
# A night on a real Slurm: munge, a controller and two nodes on this machine, started without systemd.
# One job of the array is killed and put into the queue again; the results must be those of one machine.
#
#   night_slurm.sh PROGRAM_FOLDER
#
# Needs Debian's slurm-wlm and munge, and root rights for both. Ends all that it started, after five minutes at the latest.
set -euo pipefail

if [ "${1:-}" != --inner ]; then
  exec timeout --kill-after=20 300 "$0" --inner "$1"
fi
programs=$(readlink -f "$2")
tree=$(readlink -f "$(dirname "$0")/../..")
export LULL=$programs/lull
PATH=$PATH:/usr/sbin
for program in munged slurmctld slurmd sbatch; do
  command -v "$program" >/dev/null || {
    echo "night_slurm.sh: no $program; install slurm-wlm and munge (tools/setup.sh --ci)" >&2
    exit 1
  }
done

work=$(mktemp -d)
# Daemons, their steps and jobs: by the environment that all of them have from here.
ours() { grep -lzsx "SLURM_CONF=$work/slurm.conf" /proc/[0-9]*/environ | cut -d / -f 3; }
finish() {
  status=$?
  trap - EXIT TERM INT
  export -n SLURM_CONF  # what looks for them is none of them
  if [ "$status" -ne 0 ]; then tail -n 20 "$work"/*.log "$work"/slurm/out/night/logs/slurm-*.log 2>/dev/null || true; fi
  for signal in TERM KILL; do
    for pid in $(ours); do kill -s "$signal" "$pid" 2>/dev/null || true; done
    for _ in {1..20}; do
      [ -n "$(ours)" ] || break 2
      sleep 0.1
    done
  done
  rm -rf "$work"
  exit "$status"
}
trap finish EXIT
trap 'exit 143' TERM INT

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
export SLURM_CONF=$work/slurm.conf
munged --foreground --key-file "$work/munge/key" --socket "$work/run/munge" --pid-file "$work/munge/pid" \
  --log-file "$work/munge.log" --seed-file "$work/munge/seed" --force >"$work/munged.log" 2>&1 &

# Three in a row that nobody listens at, below those that the system gives to clients.
is_taken() { (exec 3<>"/dev/tcp/127.0.0.1/$1") 2>/dev/null; }
port=$((20000 + $$ % 10000))
while is_taken "$port" || is_taken $((port + 1)) || is_taken $((port + 2)); do port=$((port + 3)); done
host=$(hostname -s)
cat >"$SLURM_CONF" <<CONF
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
SchedulerParameters=sched_interval=1,batch_sched_delay=0
KillWait=2
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
MpiDefault=none
ReturnToService=2
NodeName=n1 NodeHostname=$host NodeAddr=127.0.0.1 Port=$((port + 1)) CPUs=1
NodeName=n2 NodeHostname=$host NodeAddr=127.0.0.1 Port=$((port + 2)) CPUs=1
PartitionName=all Nodes=n1,n2 Default=YES MaxTime=INFINITE State=UP
CONF
mkdir -p "$work/state" "$work/spool-n1" "$work/spool-n2"
wait_for 30 test -S "$work/run/munge"
slurmctld -D >"$work/controller.log" 2>&1 &
for node in n1 n2; do slurmd -D -N "$node" >"$work/node-$node.log" 2>&1 & done
idle() { [ "$(sinfo --noheader --Node --states=idle --format=%N | wc -l)" -eq 2 ]; }
wait_for 60 idle

mkdir -p "$work/in" "$work/alone" "$work/slurm"
for name in ringed_faint.ser granules.mkv globe_cube.fits belts_mosaic.nut; do cp "$tree/samples/$name" "$work/in"; done
(cd "$work/alone" && "$LULL" night ../in -o out --quiet)

cd "$work/slurm"
"$tree/tools/slurm/night.sbatch" ../in out
array=$(squeue --noheader --format=%A --name=night --states=all | head -n 1)
# The first that runs is killed, and comes again.
requeue_one() {
  task=$(squeue --noheader --states=running --name=night --format=%i | head -n 1)
  [ -n "$task" ] && scontrol requeue "$task"
}
wait_for 60 requeue_one
# Slurm lets it wait for two minutes: it is told to start at once.
pending() { squeue --noheader --states=pending --format=%i --job="$task" | grep -q .; }
wait_for 60 pending
scontrol update JobId="$task" StartTime=now
done_all() { [ -z "$(squeue --noheader --format=%i)" ] && [ -f out/night.html ]; }
wait_for 120 done_all

restarts=$(scontrol show job "$task" | grep -o "Restarts=[0-9]*" || true)
[ "$restarts" = Restarts=1 ] || { echo "night_slurm.sh: job $task of $array: ${restarts:-no record}, wanted Restarts=1" >&2; exit 1; }
for file in "$work"/alone/out/*.tif "$work"/alone/out/*.recipe.json "$work"/alone/out/night.csv; do
  cmp "$file" "out/$(basename "$file")"
done
echo "night_slurm.sh: 4 pictures on 2 nodes, one put into the queue again: the same bytes as on one machine"
