/* Preloaded into a test's process: counts the system calls that change files below one folder, and at the n-th of them
   kills the process, tears the write in two, or fails it. Compiled by conftest.py with `cc -shared -fPIC`. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

enum { KILL = 1, TEAR, EIO_ONCE, FULL_FROM };

static struct { long calls, fired; char name[32]; } *shared; /* survives the process that is killed */
static int kind; /* 0: not armed */
static long at;
static char folder[PATH_MAX];

void faulty_setup(void) {
    if (!shared)
        shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    memset(shared, 0, sizeof *shared);
}
void faulty_arm(int how, long n, const char *below) {
    snprintf(folder, sizeof folder, "%s", below);
    at = n;
    kind = how;
}
long faulty_calls(void) { return shared->calls; }
long faulty_fired(void) { return shared->fired; }
const char *faulty_name(void) { return shared->name; }

static int is_below(const char *path) {
    size_t length = strlen(folder);
    return kind && !strncmp(path, folder, length) && (path[length] == '/' || !path[length]);
}
static int is_fd_below(int fd) {
    char link[40], path[PATH_MAX];
    if (!kind) return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return is_below(path);
}
static void fire(const char *name) {
    shared->fired++;
    if (shared->fired == 1) snprintf(shared->name, sizeof shared->name, "%s", name);
}
static void die(const char *name) {
    fire(name);
    kill(getpid(), SIGKILL);
    for (;;) pause();
}
/* Returns 0 to go on, or the error number with which the call fails. */
static int hit(const char *name, int allocates) {
    long n = ++shared->calls;
    if ((kind == KILL || kind == TEAR) && n == at) die(name);
    if (kind == EIO_ONCE && n == at) { fire(name); return EIO; }
    if (kind == FULL_FROM && n >= at && allocates) { fire(name); return ENOSPC; }
    return 0;
}
#define REAL(type, name, ...) static type (*real)(__VA_ARGS__); if (!real) real = dlsym(RTLD_NEXT, name)
#define FAIL_IF(below, name, allocates) \
    if (below) { int no = hit(name, allocates); if (no) { errno = no; return -1; } }

ssize_t write(int fd, const void *data, size_t size) {
    REAL(ssize_t, "write", int, const void *, size_t);
    if (is_fd_below(fd)) {
        if (kind == TEAR && shared->calls + 1 == at) { real(fd, data, size / 2); }
        FAIL_IF(1, "write", 1)
    }
    return real(fd, data, size);
}
#define PWRITE(name) \
ssize_t name(int fd, const void *data, size_t size, off_t where) { \
    REAL(ssize_t, #name, int, const void *, size_t, off_t); \
    if (is_fd_below(fd)) { \
        if (kind == TEAR && shared->calls + 1 == at) { real(fd, data, size / 2, where); } \
        FAIL_IF(1, #name, 1) \
    } \
    return real(fd, data, size, where); \
}
PWRITE(pwrite)
PWRITE(pwrite64)

#define ON_FD(name, allocates, parameters, types, arguments) \
int name parameters { REAL(int, #name, types); FAIL_IF(is_fd_below(fd), #name, allocates) return real arguments; }
#define COMMA ,
ON_FD(fsync, 0, (int fd), int, (fd))
ON_FD(fdatasync, 0, (int fd), int, (fd))
ON_FD(ftruncate, 0, (int fd, off_t size), int COMMA off_t, (fd, size))
ON_FD(ftruncate64, 0, (int fd, off_t size), int COMMA off_t, (fd, size))
ON_FD(fallocate, 1, (int fd, int mode, off_t from, off_t size), int COMMA int COMMA off_t COMMA off_t, (fd, mode, from, size))
ON_FD(fallocate64, 1, (int fd, int mode, off_t from, off_t size), int COMMA int COMMA off_t COMMA off_t, (fd, mode, from, size))

ssize_t sendfile(int fd, int in, off_t *from, size_t size) {
    REAL(ssize_t, "sendfile", int, int, off_t *, size_t);
    FAIL_IF(is_fd_below(fd), "sendfile", 1)
    return real(fd, in, from, size);
}
ssize_t sendfile64(int fd, int in, off_t *from, size_t size) {
    REAL(ssize_t, "sendfile64", int, int, off_t *, size_t);
    FAIL_IF(is_fd_below(fd), "sendfile64", 1)
    return real(fd, in, from, size);
}

#define ON_PATH(name, allocates, path, parameters, types, arguments) \
int name parameters { REAL(int, #name, types); FAIL_IF(is_below(path), #name, allocates) return real arguments; }
ON_PATH(unlink, 0, path, (const char *path), const char *, (path))
ON_PATH(unlinkat, 0, path, (int dir, const char *path, int flags), int COMMA const char * COMMA int, (dir, path, flags))
ON_PATH(rename, 0, to, (const char *path, const char *to), const char * COMMA const char *, (path, to))
ON_PATH(renameat, 0, to, (int dir, const char *path, int other, const char *to), int COMMA const char * COMMA int COMMA const char *, (dir, path, other, to))
ON_PATH(link, 1, to, (const char *path, const char *to), const char * COMMA const char *, (path, to))
ON_PATH(linkat, 1, to, (int dir, const char *path, int other, const char *to, int flags), int COMMA const char * COMMA int COMMA const char * COMMA int, (dir, path, other, to, flags))
ON_PATH(mkdir, 1, path, (const char *path, mode_t mode), const char * COMMA mode_t, (path, mode))
ON_PATH(mkdirat, 1, path, (int dir, const char *path, mode_t mode), int COMMA const char * COMMA mode_t, (dir, path, mode))

static int makes(const char *path, int flags) {
    return is_below(path) && ((flags & O_TRUNC) || ((flags & O_CREAT) && access(path, F_OK)));
}
#define OPEN(name) \
int name(const char *path, int flags, ...) { \
    REAL(int, #name, const char *, int, ...); \
    va_list rest; va_start(rest, flags); \
    mode_t mode = (flags & (O_CREAT | O_TMPFILE)) ? va_arg(rest, mode_t) : 0; \
    va_end(rest); \
    FAIL_IF(makes(path, flags), #name, 1) \
    return real(path, flags, mode); \
}
OPEN(open)
OPEN(open64)
#define OPENAT(name) \
int name(int dir, const char *path, int flags, ...) { \
    REAL(int, #name, int, const char *, int, ...); \
    va_list rest; va_start(rest, flags); \
    mode_t mode = (flags & (O_CREAT | O_TMPFILE)) ? va_arg(rest, mode_t) : 0; \
    va_end(rest); \
    FAIL_IF(makes(path, flags), #name, 1) \
    return real(dir, path, flags, mode); \
}
OPENAT(openat)
OPENAT(openat64)
