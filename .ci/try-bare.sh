#!/usr/bin/env bash
# Tries the README's two lines on a bare Debian 12: a minimal system with python3, git and
# ca-certificates and nothing else, in a folder of its own. Root only; run again, the system
# is reused and the clone is made anew.
#
#   .ci/try-bare.sh FOLDER [what to run; by default both of the README's lines]
#
# How this machine reaches its package registries (apt's and pip's own settings and the
# certificates) is copied in, so that the same registries answer inside.
set -euo pipefail

folder=${1:?a folder for the bare system, outside the checkout}
shift
checkout=$(cd "$(dirname "$0")/.." && pwd)
root=$folder/debian-12

make_system() {
    local site
    site=$(apt-get indextargets --format '$(SITE)' 'Created-By: Packages' | head -n 1)
    debootstrap --variant=minbase --include=python3,git,ca-certificates bookworm "$root" "$site"
    touch "$folder/made"
}

copy_settings() {
    cp --dereference /etc/resolv.conf "$root/etc/resolv.conf"
    cp --dereference /etc/ssl/certs/ca-certificates.crt "$root/etc/ssl/certs/"
    rm -rf "$root/etc/apt/sources.list" "$root"/etc/apt/sources.list.d/*
    cp -r /etc/apt/. "$root/etc/apt/"
    if [ -f /etc/pip.conf ]; then cp /etc/pip.conf "$root/etc/pip.conf"; fi
    env | grep -E '^(PIP_|SSL_CERT_|REQUESTS_CA_|[a-z]+_proxy=|[A-Z]+_PROXY=)' |
        grep -v '^PIP_FIND_LINKS=' >"$root/root/registries" || true
}

clone() {
    rm -rf "$root/root/checkout"
    git clone --quiet --no-hardlinks "$checkout" "$root/root/checkout"
}

inside() {
    chroot "$root" /usr/bin/env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 \
        $(cat "$root/root/registries") bash -c "cd /root/checkout && $1"
}

mkdir -p "$folder"
if [ ! -e "$folder/made" ]; then
    rm -rf "$root"
    make_system
fi
copy_settings
clone
mountpoint -q "$root/proc" || mount -t proc proc "$root/proc"
mountpoint -q "$root/dev" || mount --rbind /dev "$root/dev"
trap 'umount "$root/proc"; umount -l "$root/dev"' EXIT

if [ "$#" -gt 0 ]; then
    for line in "$@"; do
        echo "== $line"
        inside "$line"
    done
    exit
fi
for line in "python3 walkaround demo" "python3 tests"; do
    for time in first second; do
        echo "== $line ($time time)"
        began=$(date +%s)
        inside "$line"
        echo "== $line ($time time): $(($(date +%s) - began)) s"
    done
done
