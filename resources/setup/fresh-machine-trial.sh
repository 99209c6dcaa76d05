#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Proves that the README's commands work on a machine with nothing installed: makes a minimal Debian 12
# in a folder, copies a clean clone of the last commit into it, and runs them there, one after the other.
#   fresh-machine-trial.sh [--packages-only] [--keep] [FOLDER]
# --packages-only stops after the packages (build and test sets); --keep leaves the folder.
# Needs root, debootstrap and git, 8 GB of disk. The package source is the one this machine uses.
set -u
. "$(dirname "${BASH_SOURCE[0]}")/steps.sh"

keep=no packages_only=no folder=
for argument in "$@"; do
    case $argument in
        --keep) keep=yes ;;
        --packages-only) packages_only=yes ;;
        -*) stop "fresh-machine-trial.sh does not know \"$argument\"; use --packages-only, --keep or a folder." ;;
        *) folder=$argument ;;
    esac
done
[ "$(id -u)" -eq 0 ] || stop "the trial needs root, for debootstrap and chroot; run it with sudo."
for tool in debootstrap git chroot; do
    command -v $tool > /dev/null || stop "the trial needs $tool; run: apt-get install $tool"
done
if [ -z "$folder" ]; then folder=$(mktemp -d); else mkdir -p "$folder" || stop "$folder cannot be made."; fi
folder=$(cd "$folder" && pwd)
[ -z "$(ls -A "$folder")" ] || stop "$folder is not empty; name a new folder."
machine=$folder/machine
copy=/opt/trammel

clean_up() {
    mountpoint -q "$machine/proc" && umount "$machine/proc"
    if mountpoint -q "$machine/proc"; then
        echo "$machine/proc is still in use; unmount it, then remove $folder by hand." >&2
    elif [ $keep = no ]; then
        rm -rf --one-file-system "$folder"
    fi
}
trap clean_up EXIT

# Where this machine gets Debian 12 from, one "URI SUITE" a line; the release itself first.
host_sources() {
    # shellcheck disable=SC2016  # the placeholders are apt's
    apt-get indextargets --format '$(ORIGIN)|$(CODENAME)|$(COMPONENT)|$(REPO_URI)|$(RELEASE)' 'Identifier: Packages' |
        awk -F'|' '$1 == "Debian" && $2 ~ /^bookworm/ && $3 == "main" {print $4, $5}' | sort -u -k2,2
}

in_machine() {
    env -i HOME=/root PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 \
        chroot "$machine" /bin/sh -c "cd $copy 2> /dev/null; $1" < /dev/null
}

make_machine() {
    local mirror include=
    mirror=$(host_sources | awk '$2 == "bookworm" {print $1; exit}')
    [ -n "$mirror" ] || stop "this machine has no package source for Debian 12; run apt-get update first."
    case $mirror in https:*) include=--include=ca-certificates ;; esac
    step debootstrap "see that the package source is reachable and the disk has room" \
        debootstrap --variant=minbase $include bookworm "$machine" "$mirror"
    host_sources | awk '{print "deb", $1, $2, "main"}' > "$machine/etc/apt/sources.list"
    apt-config dump | grep -iE '^Acquire::(http|https)::' > "$machine/etc/apt/apt.conf.d/90from-host"
    cp /etc/resolv.conf "$machine/etc/resolv.conf"
    printf '#!/bin/sh\nexit 101\n' > "$machine/usr/sbin/policy-rc.d"  # no service is started in there
    chmod +x "$machine/usr/sbin/policy-rc.d"
    mount -t proc proc "$machine/proc" || stop "proc cannot be mounted in $machine; run on a machine that allows it."
    step clone "commit your work first; the trial copies the last commit" \
        git clone --quiet --no-hardlinks "$root" "$machine$copy"
    echo "packages before: $(in_machine 'dpkg-query -W | wc -l')"
}

# try NAME COMMAND
results=()
failed=no
try() {
    local start=$SECONDS log=$logs/trial-$1.log
    echo
    echo "== trial, $1: $2"
    in_machine "$2" 2>&1 | tee "$log"
    local code=${PIPESTATUS[0]}
    [ "$code" -eq 0 ] || failed=yes
    results+=("$(printf '%-12s exit %d  %5d s  %s' "$1" "$code" $((SECONDS - start)) "$2")")
}

make_machine
if [ $packages_only = yes ]; then
    try build "bash resources/setup/install-packages.sh"
    try test "bash resources/setup/install-packages.sh --with-tests"
    try again "bash resources/setup/install-packages.sh --with-tests"
else
    number=0
    while read -r command; do
        number=$((number + 1))
        try "command-$number" "$command"
    done < <(sed -n 's|^ *\(bash resources/setup/.*\)|\1|p' "$root/README.md")
    [ $number -ge 2 ] || stop "README.md holds fewer than two commands; they must start with \"bash resources/setup/\"."
    echo
    in_machine "ls -l build/sample"
fi

echo
echo "== trial of commit $(git -C "$machine$copy" rev-parse --short HEAD) on Debian $(cat "$machine/etc/debian_version"), $(nproc) processors"
printf '%s\n' "${results[@]}"
echo "packages after: $(in_machine 'dpkg-query -W | wc -l'); disk used: $(du -sh --one-file-system "$machine" | cut -f1)"
[ $failed = no ] || stop "a command failed on the fresh machine; its log is one of $logs/trial-*.log."
echo "Every command worked on the fresh machine."
