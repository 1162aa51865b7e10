//go:build linux || darwin

package privatepg

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
)

// account is the system user that Postgres runs as. Postgres refuses to run as root, so root
// hands over to another user; everybody else runs it as themselves.
type account struct {
	name     string
	uid, gid int
	handover bool // we are root and become this user
}

// chooseAccount finds the user for a data folder: whoever owns the cluster, else whoever owns
// the folder, else postgres, else nobody. Not being root, there is no choice.
func chooseAccount(dataDir, runAs string) (account, error) {
	if os.Geteuid() != 0 {
		return currentAccount(), nil
	}
	if runAs != "" {
		return lookupAccount(runAs)
	}
	for _, folder := range []string{filepath.Join(dataDir, clusterName), dataDir} {
		if who, ok := ownerOf(folder); ok {
			return who, nil
		}
	}
	for _, name := range serviceAccounts {
		if who, err := lookupAccount(name); err == nil {
			return who, nil
		}
	}
	return account{}, errors.New("the private Postgres refuses to run as root, and this system has neither a user postgres nor a user nobody: start Yardwright as an ordinary user")
}

// serviceAccounts are the users that root hands over to when nobody owns the data yet.
var serviceAccounts = []string{"postgres", "nobody"}

func isServiceAccount(uid int) bool {
	return slices.ContainsFunc(serviceAccounts, func(name string) bool {
		who, err := lookupAccount(name)
		return err == nil && who.uid == uid
	})
}

func currentAccount() account {
	who := account{uid: os.Geteuid(), gid: os.Getegid()}
	who.name = nameOf(who.uid)
	return who
}

func lookupAccount(name string) (account, error) {
	found, err := user.Lookup(name)
	if err != nil {
		return account{}, fmt.Errorf("user %s: %w", name, err)
	}
	return accountOf(found)
}

// ownerOf returns the owner of a folder unless that is root or a number without a name, which
// initdb does not accept.
func ownerOf(folder string) (account, bool) {
	uid, err := ownerID(folder)
	if err != nil || uid == 0 {
		return account{}, false
	}
	found, err := user.LookupId(strconv.Itoa(uid))
	if err != nil {
		return account{}, false
	}
	who, err := accountOf(found)
	return who, err == nil
}

func accountOf(found *user.User) (account, error) {
	uid, err := strconv.Atoi(found.Uid)
	if err != nil {
		return account{}, fmt.Errorf("user %s: %w", found.Username, err)
	}
	gid, err := strconv.Atoi(found.Gid)
	if err != nil {
		return account{}, fmt.Errorf("user %s: %w", found.Username, err)
	}
	return account{name: found.Username, uid: uid, gid: gid, handover: os.Geteuid() == 0 && uid != 0}, nil
}

func nameOf(uid int) string {
	if found, err := user.LookupId(strconv.Itoa(uid)); err == nil {
		return found.Username
	}
	return "number " + strconv.Itoa(uid)
}

func ownerID(path string) (int, error) {
	info, err := os.Stat(path)
	if err != nil {
		return 0, err
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, fmt.Errorf("%s: no owner known", path)
	}
	return int(stat.Uid), nil
}

// own gives a file that we made to the account, so that a later run as that very user works too.
func (who account) own(path string) error {
	if !who.handover {
		return nil
	}
	return os.Lchown(path, who.uid, who.gid)
}

// ownTree gives a whole tree to the account, its root last: that marks the work as done. A
// cluster that root copied back from a backup belongs to root, and Postgres refuses data that
// is not its user's own.
func (who account) ownTree(root string) error {
	err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
		if err != nil || path == root {
			return err
		}
		return who.own(path)
	})
	if err != nil {
		return err
	}
	return who.own(root)
}

// apply makes cmd run as the account, in its own process group: Ctrl-C at the terminal must
// reach the program alone, which can then finish its work before it stops Postgres.
func (who account) apply(cmd *exec.Cmd, whenWeDie syscall.Signal) {
	attr := &syscall.SysProcAttr{Setpgid: true}
	if who.handover {
		attr.Credential = &syscall.Credential{Uid: uint32(who.uid), Gid: uint32(who.gid)}
	}
	signalOnParentDeath(attr, whenWeDie)
	cmd.SysProcAttr = attr
}

// blockedAt returns the first folder on the way from the top down to dir, dir included, that
// the account may not pass; "" if it may pass them all. Only for a handover: the folders that
// we reach ourselves need no check. Permission bits only: access lists are not read.
func (who account) blockedAt(dir string) string {
	if !who.handover {
		return ""
	}
	way := []string{dir}
	for parent := filepath.Dir(dir); parent != way[len(way)-1]; parent = filepath.Dir(parent) {
		way = append(way, parent)
	}
	for i := len(way) - 1; i >= 0; i-- {
		info, err := os.Stat(way[i])
		if err != nil || !who.mayPass(info) {
			return way[i]
		}
	}
	return ""
}

func (who account) mayPass(info fs.FileInfo) bool {
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return false
	}
	switch {
	case int(stat.Uid) == who.uid:
		return info.Mode()&0o100 != 0
	case int(stat.Gid) == who.gid:
		return info.Mode()&0o010 != 0
	default:
		return info.Mode()&0o001 != 0
	}
}
