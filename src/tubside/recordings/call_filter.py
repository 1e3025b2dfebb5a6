"""A filter on the calls a process makes to the Linux kernel: no network, no other program.

The filter is a program for the kernel's classic packet filter, set once and never
loosened (Linux kernel documentation, "Seccomp BPF (SECure COMPuting with filters)").
Threads may still be started; a child process, another program, a socket, a signal to
another process and a look into one may not. Refused calls fail with "not permitted".
"""

from __future__ import annotations

import ctypes
import errno
import platform
import struct

# numbers of calls: arch/x86/entry/syscalls/syscall_64.tbl and the generic
# include/uapi/asm-generic/unistd.h of the kernel
_X86 = {
    "socket": 41,
    "connect": 42,
    "socketpair": 53,
    "fork": 57,
    "vfork": 58,
    "execve": 59,
    "kill": 62,
    "ptrace": 101,
    "mount": 165,
    "add_key": 248,
    "request_key": 249,
    "keyctl": 250,
    "unshare": 272,
    "perf_event_open": 298,
    "open_by_handle_at": 304,
    "setns": 308,
    "process_vm_readv": 310,
    "process_vm_writev": 311,
    "bpf": 321,
    "execveat": 322,
    "userfaultfd": 323,
}
_ARM = {
    "mount": 40,
    "unshare": 97,
    "ptrace": 117,
    "kill": 129,
    "socket": 198,
    "socketpair": 199,
    "connect": 203,
    "add_key": 217,
    "request_key": 218,
    "keyctl": 219,
    "execve": 221,
    "perf_event_open": 241,
    "open_by_handle_at": 265,
    "setns": 268,
    "process_vm_readv": 270,
    "process_vm_writev": 271,
    "bpf": 280,
    "execveat": 281,
    "userfaultfd": 282,
}
_EVERYWHERE = {"pidfd_send_signal": 424, "io_uring_setup": 425, "pidfd_open": 434}
_LAST = {"pidfd_getfd": 438}
_CLONE3 = 435
_MACHINES = {"x86_64": (0xC000003E, _X86, 56), "aarch64": (0xC00000B7, _ARM, 220)}
_X32_CALLS = 0x40000000
_AS_THREAD = 0x00010000  # CLONE_THREAD

_LOAD, _EQUAL, _AT_LEAST, _ANY_BIT, _RETURN = 0x20, 0x15, 0x35, 0x45, 0x06
_ALLOW, _KILL, _REFUSE = 0x7FFF0000, 0x80000000, 0x00050000
_CALL, _MACHINE, _FIRST_WORD = 0, 4, 16  # places in struct seccomp_data, little-endian

_NO_NEW_PRIVILEGES, _SET_SECCOMP, _FILTER = 38, 22, 2


def _line(code: int, value: int, yes: int = 0, no: int = 0) -> bytes:
    return struct.pack("=HBBI", code, yes, no, value)


def filter_program(machine: str) -> bytes | None:
    """The filter for a machine as ``platform.machine()`` names it; None where unknown.

    Examples
    --------
    >>> len(filter_program("x86_64")) % 8
    0
    >>> filter_program("sparc") is None
    True
    """
    if machine not in _MACHINES:
        return None
    audit, own, clone = _MACHINES[machine]
    refuse = _line(_RETURN, _REFUSE | errno.EPERM)
    lines = [
        _line(_LOAD, _MACHINE),
        _line(_EQUAL, audit, 1, 0),
        _line(_RETURN, _KILL),
        _line(_LOAD, _CALL),
        _line(_AT_LEAST, _X32_CALLS, 0, 1),
        _line(_RETURN, _KILL),
    ]
    for call in sorted((own | _EVERYWHERE | _LAST).values()):
        lines += [_line(_EQUAL, call, 0, 1), refuse]
    # the new way to clone hides its flags in memory: "not there" sends libc to the old one
    lines += [_line(_EQUAL, _CLONE3, 0, 1), _line(_RETURN, _REFUSE | errno.ENOSYS)]
    lines += [
        _line(_EQUAL, clone, 0, 3),
        _line(_LOAD, _FIRST_WORD),
        _line(_ANY_BIT, _AS_THREAD, 1, 0),
        refuse,
        _line(_RETURN, _ALLOW),
    ]
    return b"".join(lines)


def filter_calls() -> bool:
    """Set the filter on this process for good; whether the kernel took it."""
    program = filter_program(platform.machine())
    if program is None:
        return False
    libc = ctypes.CDLL(None, use_errno=True)
    kept = ctypes.create_string_buffer(program, len(program))
    told = struct.pack("HxxxxxxP", len(program) // 8, ctypes.addressof(kept))
    if libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0) != 0:
        return False
    return bool(libc.prctl(_SET_SECCOMP, _FILTER, ctypes.create_string_buffer(told), 0, 0) == 0)
