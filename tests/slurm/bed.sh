#!/usr/bin/env bash
# A Slurm cluster of two virtual nodes on this machine, for tests: started from nothing, and taken away again.
#
#   tests/slurm/bed.sh install            Debian's packages, those that are missing (as root, or by sudo)
#   tests/slurm/bed.sh start OWNER        prints the bed's folder once both nodes are idle
#   tests/slurm/bed.sh kill FOLDER NODE   one node dies: its daemon and all that it has started are killed, nobody is told
#   tests/slurm/bed.sh stop FOLDER        ends what was started and removes the folder
#
# Whoever sets SLURM_CONF=FOLDER/slurm.conf talks to this cluster. All of it is in FOLDER: the key and socket of munge, by
# which the parts of Slurm know each other, configuration, spool folders, logs. Nothing in /etc is read or changed, no
# service is used, and no right is needed but to start processes: the cluster belongs to who starts it and runs jobs of
# that user alone. It listens on 127.0.0.1 only. OWNER is the process for which it is started: when that is gone, however
# it went, a watcher stops the bed, so that a run that was killed leaves nothing.
set -euo pipefail

readonly PACKAGES=(slurmctld slurmd slurm-client munge)
readonly NODES=(n1 n2)
# Seconds. A cluster that works is ready in 2 to 4.
readonly READY_WITHIN=40
# Ports are drawn, since they must be known before a daemon listens; if another process is quicker, others are drawn.
readonly ATTEMPTS=4

PATH=$PATH:/usr/sbin:/sbin

as_root() {
    if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi
}

fail() {
    printf 'bed.sh: %s\n' "$*" >&2
    exit 1
}

missing() {
    local program
    for program in munged slurmctld slurmd sbatch scontrol sinfo; do
        command -v "$program" >/dev/null || printf '%s\n' "$program"
    done
}

install() {
    [ -n "$(missing)" ] || return 0
    command -v apt-get >/dev/null || fail "no apt-get here: install Slurm and munge as this system does; missing: $(missing | tr '\n' ' ')"
    as_root apt-get update
    as_root env DEBIAN_FRONTEND=noninteractive apt-get install --yes --no-install-recommends "${PACKAGES[@]}"
    [ -z "$(missing)" ] || fail "still missing: $(missing | tr '\n' ' ')"
}

# As many different ports as asked on which nothing answers. Below the range from which the kernel gives ports away.
free_ports() {
    local port count=0 seen=" "
    while [ "$count" -lt "$1" ]; do
        port=$((15000 + RANDOM % 15000))
        case $seen in *" $port "*) continue ;; esac
        seen+="$port "
        if ! (exec 3<>"/dev/tcp/127.0.0.1/$port") 2>/dev/null; then
            printf '%s\n' "$port"
            count=$((count + 1))
        fi
    done
}

write_configuration() { # FOLDER
    local folder=$1 host ports user
    host=$(uname -n)
    host=${host%%.*}
    user=$(id -un)
    mapfile -t ports < <(free_ports 3)
    cat >"$folder/slurm.conf" <<CONF
ClusterName=bed
SlurmctldHost=$host(127.0.0.1)
SlurmctldPort=${ports[0]}
CommunicationParameters=NoCtldInAddrAny,NoInAddrAny
SlurmUser=$user
SlurmdUser=$user

# cred_expire is also how long a job waits that is requeued: two minutes unless set, 5 s at least.
AuthType=auth/munge
CredType=cred/munge
AuthInfo=socket=$folder/munge.socket,cred_expire=5

# No systemd, no cgroups, no accounting.
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
JobCompType=jobcomp/none
MpiDefault=none
MailProg=/bin/true
SwitchType=switch/none

# A processor of a node for each task, though the machine is one and the same.
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerType=sched/backfill
SchedulerParameters=batch_sched_delay=0,sched_interval=2,sched_min_interval=0,bf_interval=2
JobRequeue=1
ReturnToService=1
SlurmctldTimeout=10
SlurmdTimeout=10
KillWait=2
MinJobAge=600
MessageTimeout=10
InactiveLimit=0

StateSaveLocation=$folder/state
SlurmdSpoolDir=$folder/spool-%n
SlurmctldPidFile=$folder/slurmctld.pid
SlurmdPidFile=$folder/slurmd-%n.pid
SlurmctldLogFile=$folder/slurmctld.log
SlurmdLogFile=$folder/slurmd-%n.log

NodeName=${NODES[0]} NodeHostname=$host NodeAddr=127.0.0.1 Port=${ports[1]} CPUs=1 State=UNKNOWN
NodeName=${NODES[1]} NodeHostname=$host NodeAddr=127.0.0.1 Port=${ports[2]} CPUs=1 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
CONF
}

# A daemon in the foreground, with its process id kept, in a session of its own: a Ctrl-C at the terminal is not for it.
launch() { # FOLDER NAME COMMAND...
    local folder=$1 name=$2
    shift 2
    BREATHROOM_BED=$folder BREATHROOM_BED_PART=$name setsid "$@" </dev/null >>"$folder/$name.out" 2>&1 &
    printf '%s\n' "$!" >>"$folder/pids"
}

is_ready() {
    [ "$(timeout 5 sinfo --noheader --Node --format=%T 2>/dev/null | grep -cx idle)" -eq "${#NODES[@]}" ]
}

alive() { # FOLDER: every daemon that was launched
    local pid
    while read -r pid; do
        kill -0 "$pid" 2>/dev/null || return 1
    done <"$1/pids"
}

show_logs() { # FOLDER
    local log
    for log in "$1"/*.log "$1"/*.out; do
        [ -s "$log" ] || continue
        printf '== %s\n' "$log" >&2
        tail -n 40 "$log" >&2
    done
}

start_once() { # FOLDER
    local folder=$1 node until
    mkdir "$folder/state"
    (umask 077 && head -c 1024 /dev/urandom >"$folder/munge.key")
    write_configuration "$folder"
    export SLURM_CONF=$folder/slurm.conf
    # --force: a folder that belongs to one user alone is not what munged expects of its socket's.
    launch "$folder" munged munged --foreground --force --key-file "$folder/munge.key" --socket "$folder/munge.socket" \
        --pid-file "$folder/munged.pid" --log-file "$folder/munged.log" --seed-file "$folder/munged.seed" --num-threads 2
    until=$((SECONDS + READY_WITHIN))
    while [ ! -S "$folder/munge.socket" ]; do
        alive "$folder" && [ "$SECONDS" -lt "$until" ] || return 1
        sleep 0.1
    done
    launch "$folder" slurmctld slurmctld -D -c
    for node in "${NODES[@]}"; do
        launch "$folder" "slurmd-$node" slurmd -D -N "$node"
    done
    until ! alive "$folder" || is_ready; do
        [ "$SECONDS" -lt "$until" ] || return 1
        sleep 0.2
    done
    alive "$folder"
}

start() { # OWNER
    local owner=$1 folder place attempt
    [ -z "$(missing)" ] || fail "missing: $(missing | tr '\n' ' '); run: tests/slurm/bed.sh install"
    kill -0 "$owner" 2>/dev/null || fail "there is no process $owner to start a cluster for"
    # The path of a socket has at most 107 bytes.
    place=${TMPDIR:-/tmp}
    [ "${#place}" -lt 60 ] || place=/tmp
    for attempt in $(seq "$ATTEMPTS"); do
        folder=$(mktemp -d "$place/breathroom-slurm-XXXXXX")
        : >"$folder/pids"
        setsid "$0" watch "$owner" "$folder" </dev/null >/dev/null 2>&1 &
        if start_once "$folder"; then
            printf '%s\n' "$folder"
            return 0
        fi
        [ "$attempt" -lt "$ATTEMPTS" ] || show_logs "$folder"
        stop "$folder"
    done
    fail "no cluster after $ATTEMPTS attempts"
}

# What belongs to a bed: daemons carry its mark; the keepers of steps, which Slurm starts without it, have its configuration
# and their name; what runs in its jobs has its configuration and the number of a job. Whoever only talks to it has neither.
members() { # FOLDER
    local file pid environment
    for file in /proc/[0-9]*/environ; do
        pid=${file#/proc/}
        pid=${pid%/environ}
        environment=$'\n'$(tr '\0' '\n' 2>/dev/null <"$file" || true)$'\n'
        case $environment in
        *$'\n'"BREATHROOM_BED=$1"$'\n'*) printf '%s\n' "$pid" ;;
        *$'\n'"SLURM_CONF=$1/slurm.conf"$'\n'*)
            [[ $environment != *$'\n'SLURM_JOB_ID=* && $(<"/proc/$pid/comm") != slurmstepd ]] || printf '%s\n' "$pid"
            ;;
        esac
    done 2>/dev/null
}

# What runs on a node: its daemon, what runs in its jobs, and the keepers of these, which are their parents.
node_members() { # FOLDER NODE
    local pid parent environment
    for pid in $(members "$1"); do
        environment=$'\n'$(tr '\0' '\n' 2>/dev/null <"/proc/$pid/environ" || true)$'\n'
        case $environment in
        *$'\n'"BREATHROOM_BED_PART=slurmd-$2"$'\n'*) printf '%s\n' "$pid" ;;
        *$'\n'"SLURMD_NODENAME=$2"$'\n'*)
            printf '%s\n' "$pid"
            parent=$(sed -n 's/^PPid:[[:space:]]*//p' "/proc/$pid/status")
            [[ $(<"/proc/$parent/comm") != slurmstepd ]] || printf '%s\n' "$parent"
            ;;
        esac
    done 2>/dev/null
}

# All at once, as by a power cut: the daemon cannot report that a task of it has ended.
kill_node() { # FOLDER NODE
    local pids pid
    mapfile -t pids < <(node_members "$1" "$2")
    [ "${#pids[@]}" -gt 0 ] || fail "nothing runs on $2"
    # First all stand still, so that none sees another go.
    kill -STOP "${pids[@]}" 2>/dev/null || true
    mapfile -t pids < <(node_members "$1" "$2")
    kill -KILL "${pids[@]}" 2>/dev/null || true
    for pid in "${pids[@]}"; do
        # An unreaped child has gone, too: its files are closed.
        until ! [ -e "/proc/$pid/stat" ] || [[ $(<"/proc/$pid/stat") == *") Z "* ]]; do sleep 0.05; done 2>/dev/null
    done
}

stop() { # FOLDER
    local folder=$1 pids until
    case ${folder##*/} in breathroom-slurm-*) ;; *) fail "$folder is not the folder of a bed" ;; esac
    [ -d "$folder" ] || return 0
    # Each at once and for good: there is no state to keep, and a step that outlives its daemon would go on.
    until=$((SECONDS + 10))
    mapfile -t pids < <(members "$folder")
    while [ "${#pids[@]}" -gt 0 ]; do
        [ "$SECONDS" -lt "$until" ] || fail "these do not end: ${pids[*]}"
        kill -KILL "${pids[@]}" 2>/dev/null || true
        sleep 0.1
        mapfile -t pids < <(members "$folder")
    done
    rm -rf "$folder"
}

watch() { # OWNER FOLDER
    while kill -0 "$1" 2>/dev/null; do
        [ -d "$2" ] || exit 0
        sleep 1
    done
    stop "$2"
}

case ${1-} in
install) install ;;
start) start "${2:?the process for which it is started}" ;;
kill) kill_node "${2:?the folder of the bed}" "${3:?the node}" ;;
stop) stop "${2:?the folder of the bed}" ;;
watch) watch "${2:?}" "${3:?}" ;;
*) fail "say install, start OWNER, kill FOLDER NODE or stop FOLDER" ;;
esac
