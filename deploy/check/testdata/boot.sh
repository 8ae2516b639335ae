# Boots systemd as process 1 of namespaces of its own, over this machine's files with
# changes kept in memory: boot.sh FOLDER, which it sees as /srv. Nothing of it stays.
set -eu
folder=$1
place=$folder/machine
mkdir "$place"
mount -t tmpfs tmpfs "$place"
mkdir "$place/upper" "$place/work" "$place/root"
mount -t overlay overlay -o "lowerdir=/,upperdir=$place/upper,workdir=$place/work" "$place/root"
cd "$place/root"
mount -t proc proc proc
mount -t sysfs sysfs sys
mount -t cgroup2 cgroup2 sys/fs/cgroup
mount -t tmpfs tmpfs dev
mkdir dev/pts dev/shm
for device in null zero random urandom full tty; do
  touch "dev/$device"
  mount --bind "/dev/$device" "dev/$device"
done
mount -t devpts -o newinstance,ptmxmode=0666 devpts dev/pts
ln -s pts/ptmx dev/ptmx
ln -s /proc/self/fd dev/fd
mount -t tmpfs -o mode=1777 tmpfs tmp
mount -t tmpfs tmpfs run
mount --bind "$folder" srv
# A new root, not a changed one: a process in the latter may make no user namespace.
mkdir outside
pivot_root . outside
umount -l /outside
rmdir /outside
# As a machine has it; systemd hands credentials to units by it.
mount --make-rshared /
exec env -i container=relevel-test PATH=/usr/sbin:/usr/bin:/sbin:/bin \
  /lib/systemd/systemd --system --unit=multi-user.target --log-target=console --log-level=warning --show-status=no
