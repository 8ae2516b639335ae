# What deploy/INSTALL.md says of the package, on a machine that boot.sh booted. The
# packages are /srv/1.deb and /srv/2.deb.
set -eu

fail() {
  echo "FAULT: $*"
  systemctl status --no-pager --full 'relevel*' || true
  journalctl --no-pager -n 50 -u relevel -u relevel-migrate || true
  exit 1
}

systemctl is-system-running --wait >/dev/null || [ "$(systemctl is-system-running)" = degraded ] || fail "systemd does not run"

# Installed, it waits to be told.
dpkg -i /srv/1.deb
[ "$(systemctl is-active relevel || true)" = inactive ] || fail "it started by itself"
[ "$(stat -c '%U %a' /var/lib/relevel)" = "relevel 700" ] || fail "the data folder is open"

# With nothing configured: a private Postgres, under the unit's restrictions.
systemctl enable --now relevel
relevel ready --wait 2m || fail "it does not get ready"
first=$(systemctl show -P MainPID relevel)
[ "$(stat -c %U "/proc/$first")" = relevel ] || fail "it runs as somebody else"
grep -q '^Seccomp:.2' "/proc/$first/status" || fail "its system calls are not filtered"
grep -q '^CapEff:.0*$' "/proc/$first/status" || fail "it has capabilities"
grep -qE '^[0-9 :]+/ / ro' "/proc/$first/mountinfo" || fail "it can write to the machine"
journalctl -u relevel | grep -q '/invitation#' || fail "it prints no link to begin with"

# A backup of it, which would come back, and what the doctor says of all that.
systemctl start relevel-backup || fail "no backup is made"
ls -d /var/backups/relevel/*/ >/dev/null || fail "the backup is elsewhere"
systemctl start relevel-check || fail "the backup is not restored"
doctor() {
  systemd-run --quiet --pipe --wait --uid=relevel --property=EnvironmentFile=/etc/relevel/relevel.env relevel doctor --data /var/lib/relevel
}
doctor >/tmp/doctor || fail "the doctor finds something wrong: $(cat /tmp/doctor)"
grep -q 'takes the database to' /tmp/doctor || fail "the doctor finds no backup: $(cat /tmp/doctor)"

# A newer package replaces the server that runs.
dpkg -i /srv/2.deb
relevel ready --wait 2m || fail "after an upgrade it does not get ready"
[ "$(systemctl show -P MainPID relevel)" != "$first" ] || fail "the old one goes on"

# A database of one's own, with passwords.
/usr/share/relevel/secrets.sh --to /etc/relevel/secrets --database 127.0.0.1:5439 --group relevel
bin=$(ls -d /usr/lib/postgresql/*/bin | tail -n 1)
install -d -o postgres /var/tmp/pg
install -o postgres -m 0400 /etc/relevel/secrets/postgres-password /var/tmp/pg/password
setpriv --reuid postgres --regid postgres --init-groups "$bin/initdb" -D /var/tmp/pg/data -U postgres --auth=scram-sha-256 \
  --pwfile=/var/tmp/pg/password --encoding=UTF8 --locale=C.UTF-8 --no-sync >/dev/null
systemd-run --quiet --unit=test-postgres --uid=postgres "$bin/postgres" -D /var/tmp/pg/data -p 5439 -k /var/tmp/pg
for role in admin owner app worker eraser backup; do
  case "$role" in
  app) name=RELEVEL_DATABASE_URL ;;
  *) name=RELEVEL_$(echo "$role" | tr a-z A-Z)_DATABASE_URL ;;
  esac
  export "${name}_FILE=/etc/relevel/secrets/$role-url"
done
tries=0
until relevel migrate --prepare; do
  tries=$((tries + 1))
  [ "$tries" -lt 60 ] || fail "the database cannot be prepared"
  sleep 1
done
sed -i -E 's/^#(RELEVEL_(WORKER_|BACKUP_)?DATABASE_URL_FILE=)/\1/' /etc/relevel/relevel.env
systemctl restart relevel || fail "it does not start with a database of its own"
relevel ready --wait 2m || fail "with a database of its own it does not get ready"
[ "$(systemctl show -P Result relevel-migrate)" = success ] || fail "the schema was not looked at"
systemctl show -P ExecMainStartTimestamp relevel-migrate | grep -q . || fail "relevel-migrate did not run"
pgrep -u relevel -f bin/postgres >/dev/null && fail "the private Postgres runs beside it" || true
setpriv --reuid relevel --regid relevel --init-groups cat /etc/relevel/secrets/owner-url 2>/dev/null && fail "the server's account reads the owner's address" || true

doctor >/tmp/doctor || fail "with a database of its own the doctor finds something wrong: $(cat /tmp/doctor)"
grep -q 'read from /etc/relevel/secrets/app-url' /tmp/doctor || fail "the doctor does not like the secrets: $(cat /tmp/doctor)"
systemctl start relevel-backup || fail "of a database of its own no backup is made"
systemctl start relevel-check || fail "a backup of a database of its own is not restored"

# Removed, what was recorded stays.
dpkg --purge relevel
[ "$(systemctl is-active relevel || true)" = inactive ] || fail "it goes on after its removal"
[ -e /var/lib/relevel/postgres/PG_VERSION ] && [ -e /etc/relevel/secrets/app-url ] || fail "something was removed with it"
[ ! -e /etc/relevel/relevel.env ] || fail "its settings stay after a purge"
echo "all of it holds"
