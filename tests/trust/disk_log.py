"""A disk that can lose its power: every write of SQLite is noted, and what was not synced may be gone.

`keep_disk_log` puts itself between SQLite and the system's file functions in this process, in the very library that
Python's sqlite3 uses: it registers a copy of the default VFS (sqlite.org/vfs.html) whose files have the same methods
but for xWrite, xTruncate and xSync. Each of these and each xDelete is done and appended to a log. `after_the_cut`
replays such a log over the files as they were: what a later sync of the same file covered is there, each of the others
is there or not by chance, in whole or torn at a sector of 512 bytes. WAL's shared memory is no file and is forgotten.
"""

from __future__ import annotations

import _sqlite3
import ctypes
import os
import random
import struct
import threading
from ctypes import CFUNCTYPE, POINTER, Structure, addressof, c_char_p, c_int, c_int64, c_void_p, cast
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from _ctypes import CFuncPtr

HEADER = struct.Struct("<cHqI")  # what, length of the name, offset or size, length of the bytes
WRITE, TRUNCATE, SYNC, DELETE = b"w", b"t", b"s", b"d"
SECTOR = 512
OK = 0

METHODS = ("xClose", "xRead", "xWrite", "xTruncate", "xSync", "xFileSize", "xLock", "xUnlock", "xCheckReservedLock",
           "xFileControl", "xSectorSize", "xDeviceCharacteristics", "xShmMap", "xShmLock", "xShmBarrier", "xShmUnmap",
           "xFetch", "xUnfetch")
SYSTEM = ("xAccess", "xFullPathname", "xDlOpen", "xDlError", "xDlSym", "xDlClose", "xRandomness", "xSleep",
          "xCurrentTime", "xGetLastError", "xCurrentTimeInt64", "xSetSystemCall", "xGetSystemCall", "xNextSystemCall")

Write = CFUNCTYPE(c_int, c_void_p, c_void_p, c_int, c_int64)
Truncate = CFUNCTYPE(c_int, c_void_p, c_int64)
Sync = CFUNCTYPE(c_int, c_void_p, c_int)
Open = CFUNCTYPE(c_int, c_void_p, c_void_p, c_void_p, c_int, c_void_p)  # SQLite keeps the name's address: never a copy
Delete = CFUNCTYPE(c_int, c_void_p, c_char_p, c_int)


class IoMethods(Structure):
    """sqlite3_io_methods."""

    _fields_ = [("iVersion", c_int), *((name, c_void_p) for name in METHODS)]


class Vfs(Structure):
    """sqlite3_vfs."""

    _fields_ = [("iVersion", c_int), ("szOsFile", c_int), ("mxPathname", c_int), ("pNext", c_void_p),
                ("zName", c_char_p), ("pAppData", c_void_p), ("xOpen", c_void_p), ("xDelete", c_void_p),
                *((name, c_void_p) for name in SYSTEM)]


class File(Structure):
    """sqlite3_file."""

    _fields_ = [("pMethods", POINTER(IoMethods))]


def keep_disk_log(file: str) -> None:
    """Notes from now on in a file what SQLite does to files in this process."""
    _KEPT.append(_Noting(file))


class _Noting:
    def __init__(self, file: str) -> None:
        self._log = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        self._lock = threading.Lock()
        self._names: dict[int, bytes] = {}
        self._methods: dict[int, IoMethods] = {}
        library = ctypes.CDLL(getattr(_sqlite3, "__file__", None))  # None: built into Python itself
        library.sqlite3_vfs_find.restype = c_void_p
        self._system = Vfs.from_address(library.sqlite3_vfs_find(None))
        self._vfs = Vfs.from_buffer_copy(self._system)
        self._vfs.zName = b"noting"
        self._kept: tuple[CFuncPtr, ...] = (Open(self._open), Delete(self._delete))
        self._vfs.xOpen, self._vfs.xDelete = (cast(one, c_void_p) for one in self._kept)
        assert library.sqlite3_vfs_register(ctypes.byref(self._vfs), 1) == OK

    def _note(self, what: bytes, name: bytes, at: int = 0, content: bytes = b"") -> None:
        with self._lock:
            os.write(self._log, HEADER.pack(what, len(name), at, len(content)) + name + content)

    def _open(self, _vfs: int, path: int | None, file: int, flags: int, out_flags: int) -> int:
        system = cast(self._system.xOpen, Open)
        done = int(system(addressof(self._system), path, file, flags, out_flags))
        if done == OK and path:  # a nameless file is for sorting and the like, and ends with its connection
            self._names[file] = Path(os.fsdecode(ctypes.string_at(path))).name.encode()
            opened = File.from_address(file)
            opened.pMethods = ctypes.pointer(self._methods_over(opened.pMethods.contents))
        return done

    def _methods_over(self, system: IoMethods) -> IoMethods:
        """Gives the methods of an opened file with ours in between, made once for each set of methods."""
        if addressof(system) not in self._methods:
            noting = IoMethods.from_buffer_copy(system)
            ours = (self._writing(system), self._truncating(system), self._syncing(system))
            noting.xWrite, noting.xTruncate, noting.xSync = (cast(one, c_void_p) for one in ours)
            self._kept += ours
            self._methods[addressof(system)] = noting
        return self._methods[addressof(system)]

    def _writing(self, system: IoMethods) -> CFuncPtr:
        call = cast(system.xWrite, Write)

        def write(file: int, content: int, length: int, at: int) -> int:
            self._note(WRITE, self._names[file], at, ctypes.string_at(content, length))
            return int(call(file, content, length, at))

        return Write(write)

    def _truncating(self, system: IoMethods) -> CFuncPtr:
        call = cast(system.xTruncate, Truncate)

        def truncate(file: int, size: int) -> int:
            self._note(TRUNCATE, self._names[file], size)
            return int(call(file, size))

        return Truncate(truncate)

    def _syncing(self, system: IoMethods) -> CFuncPtr:
        call = cast(system.xSync, Sync)

        def sync(file: int, flags: int) -> int:
            done = int(call(file, flags))
            if done == OK:
                self._note(SYNC, self._names[file])
            return done

        return Sync(sync)

    def _delete(self, _vfs: int, path: bytes, sync_folder: int) -> int:
        self._note(DELETE, Path(os.fsdecode(path)).name.encode())
        return int(cast(self._system.xDelete, Delete)(addressof(self._system), path, sync_folder))


_KEPT: list[_Noting] = []


# --- after the power cut ---


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One thing that was done to a file."""

    what: bytes
    at: int
    content: bytes


@dataclass(slots=True)
class DiskFile:
    """One file on the disk: what is safe, and what was done since."""

    safe: bytearray | None
    since: list[Done] = field(default_factory=list)
    syncs: int = 0

    def sync(self) -> None:
        for done in self.since:
            self._do(done)
        self.since.clear()
        self.syncs += 1

    def _do(self, done: Done) -> None:
        if done.what == DELETE:
            self.safe = None
            return
        content = self.safe if self.safe is not None else bytearray()
        if done.what == TRUNCATE:
            del content[done.at :]
        else:
            content.extend(bytes(max(0, done.at + len(done.content) - len(content))))
            content[done.at : done.at + len(done.content)] = done.content
        self.safe = content

    def loses_power(self, chance: random.Random) -> None:
        """Keeps some of what was not synced; a deletion that is not kept leaves the file from before it."""
        deletions = [n for n, done in enumerate(self.since) if done.what == DELETE]
        if deletions and chance.random() < 0.5:
            self.since = self.since[: deletions[-1]]
        elif deletions:
            self.safe, self.since = None, self.since[deletions[-1] + 1 :]
        for done in self.since:
            if chance.random() < 0.5:
                self._do(_torn(done, chance) if done.what == WRITE else done)


def _torn(done: Done, chance: random.Random) -> Done:
    """Cuts one write in three off at a sector."""
    if chance.random() > 1 / 3:
        return done
    sectors = chance.randint(0, len(done.content) // SECTOR)
    return Done(what=WRITE, at=done.at, content=done.content[: sectors * SECTOR])


def after_the_cut(log: Path, before: Path, names: tuple[str, ...], chance: random.Random) -> dict[str, DiskFile]:
    """Works out what the files named hold after the power was cut at the end of a log."""
    files = {name: DiskFile(bytearray((before / name).read_bytes()) if (before / name).exists() else None)
             for name in names}
    for name, done in _read(log.read_bytes()):
        if name in files and done.what == SYNC:
            files[name].sync()
        elif name in files:
            files[name].since.append(done)
    for file in files.values():
        file.loses_power(chance)
    return files


def _read(noted: bytes) -> list[tuple[str, Done]]:
    """Reads a log; its last entry may have been cut off by the kill."""
    found, at = [], 0
    while at + HEADER.size <= len(noted):
        what, name_length, where, length = HEADER.unpack_from(noted, at)
        start = at + HEADER.size
        at = start + name_length + length
        if at <= len(noted):
            name = noted[start : start + name_length].decode()
            found.append((name, Done(what=what, at=where, content=noted[start + name_length : at])))
    return found
