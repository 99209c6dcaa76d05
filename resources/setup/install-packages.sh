#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs exactly what is missing of packages.txt.
#   install-packages.sh [--with-tests] [--list]
# --list only prints what is missing. Exit 0: nothing is missing (any more).
set -u
. "$(dirname "${BASH_SOURCE[0]}")/steps.sh"

sets=build
list=no
for argument in "$@"; do
    case $argument in
        --with-tests) sets="build test" ;;
        --list) list=yes ;;
        *) stop "install-packages.sh does not know \"$argument\"; use --with-tests, --list or nothing." ;;
    esac
done

command -v dpkg-query > /dev/null ||
    stop "this set-up is for Debian 12; on another system install what $setup/packages.txt names, then run: cmake --workflow --preset release"

wanted=$(awk -v sets=" $sets " '!/^#/ && NF && index(sets, " " $1 " ") {print $2}' "$setup/packages.txt")
missing=()
for package in $wanted; do
    state=$(dpkg-query -W -f '${db:Status-Abbrev}' "$package" 2> /dev/null)
    case $state in ?i*) ;; *) missing+=("$package") ;; esac
done
if [ $list = yes ]; then
    printf '%s\n' "${missing[@]}"
    exit 0
fi
if [ ${#missing[@]} -eq 0 ]; then
    echo "== packages: all $(echo "$wanted" | wc -w) are installed already"
    exit 0
fi

os_release=${TRAMMEL_OS_RELEASE:-/etc/os-release}  # another file in tests
# shellcheck disable=SC1090
system=$(. "$os_release" 2> /dev/null && echo "${ID:-}${VERSION_ID:-} (${PRETTY_NAME:-unknown})")
case $system in
    "debian12 "*) ;;
    *) stop "this set-up is for Debian 12 and this is ${system#* }; install by its own means: ${missing[*]}" ;;
esac

as_root=()
if [ "$(id -u)" -ne 0 ]; then
    command -v sudo > /dev/null ||
        stop "installing packages needs the administrator's rights and there is no sudo; as root run: apt-get install ${missing[*]}"
    as_root=(sudo)
    [ -t 0 ] || as_root=(sudo -n)
fi

echo "== packages: will install from Debian what is missing (${#missing[@]}), with what it depends on:"
echo "${missing[*]}" | fold -s -w 96 | sed 's/^/   /'
log=$logs/packages.log
echo "   (some minutes; follow it in $log)"
if [ ${#as_root[@]} -gt 0 ] && ! "${as_root[@]}" true; then
    stop "sudo refused; run this as a user who may install packages, or as root: apt-get install ${missing[*]}"
fi

export DEBIAN_FRONTEND=noninteractive LC_ALL=C
apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive LC_ALL=C apt-get -o DPkg::Lock::Timeout=300)
refreshed=yes
"${apt[@]}" update --error-on=any > "$log" 2>&1 < /dev/null || refreshed=no
"${apt[@]}" install --yes --no-install-recommends "${missing[@]}" >> "$log" 2>&1 < /dev/null
code=$?
if [ $code -eq 0 ]; then
    echo "   installed"
    exit 0
fi
if grep -qiE "no space left|enough free space" "$log"; then
    stop "the disk is too full for the packages; about 2 GB are needed, free some and try again." "$log"
elif grep -qiE "could not get lock|unable to lock|unable to acquire" "$log"; then
    stop "another package manager is at work; wait until it is done and try again." "$log"
elif grep -qiE "temporary failure resolving|could not resolve|could not connect|unable to connect|connection (failed|timed out)|network is unreachable" "$log"; then
    stop "Debian's packages cannot be reached; check the network (and any proxy in /etc/apt) and try again." "$log"
elif grep -qi "unable to locate package\|no installation candidate" "$log"; then
    stop "this machine's package sources lack some of them; enable Debian 12's section \"main\" in /etc/apt and try again." "$log"
elif grep -qiE "unmet dependencies|held broken" "$log"; then
    stop "they do not fit other packages on this machine (held back, or from a foreign source); the lines above \"held broken packages\" name them." "$log"
elif [ $refreshed = no ]; then
    stop "the list of Debian's packages could not be refreshed; check the network and try again." "$log"
fi
stop "apt-get failed (exit $code); its last lines say why." "$log"
