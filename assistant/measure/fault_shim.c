/* The C library's calls that change files, counted; one of them can be the last, or fail. Preloaded by `fault_shim.py`.

   Only regular files count: what is told through a pipe is no stroke. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

enum { COUNTED, KILLED_BEFORE, KILLED_IN_IT, FAILS_ONCE, FAILS_ON, FULL_ONCE, FULL_ON };

static long strokes, wanted;
static int armed, fault;

void fault_arm(long stroke, int how) { strokes = 0; wanted = stroke; fault = how; armed = 1; }
long fault_strokes(void) { armed = 0; return strokes; }

static int regular(int file) { struct stat found; return fstat(file, &found) == 0 && S_ISREG(found.st_mode); }
static void die(void) { kill(getpid(), SIGKILL); }

/* 0: go on; an errno: fail with it; -1: do it (half of it, if it writes) and die. */
static int stroke(int takes_room) {
    strokes++;
    int here = strokes == wanted, since = strokes >= wanted;
    if (fault == KILLED_BEFORE && here) die();
    if (fault == KILLED_IN_IT && here) return -1;
    if ((fault == FAILS_ONCE && here) || (fault == FAILS_ON && since)) return EIO;
    if (takes_room && ((fault == FULL_ONCE && here) || (fault == FULL_ON && since))) return ENOSPC;
    return 0;
}

#define REAL(name) static __typeof__(name) *real; if (!real) real = (__typeof__(name) *)dlsym(RTLD_NEXT, #name)
#define STRUCK(counts, takes_room, half, whole) \
    if (!armed || !(counts)) return whole; \
    int now = stroke(takes_room); \
    if (now > 0) { errno = now; return -1; } \
    if (now < 0) { half; die(); } \
    return whole
/* What is called for its effect alone, before the end. */
#define DONE(call) do { if (call) {} } while (0)

ssize_t write(int file, const void *data, size_t size) {
    REAL(write); STRUCK(regular(file), 1, DONE(real(file, data, size / 2)), real(file, data, size));
}
ssize_t pwrite(int file, const void *data, size_t size, off_t at) {
    REAL(pwrite); STRUCK(regular(file), 1, DONE(real(file, data, size / 2, at)), real(file, data, size, at));
}
ssize_t pwrite64(int file, const void *data, size_t size, off64_t at) {
    REAL(pwrite64); STRUCK(regular(file), 1, DONE(real(file, data, size / 2, at)), real(file, data, size, at));
}
int ftruncate(int file, off_t size) { REAL(ftruncate); STRUCK(regular(file), 0, DONE(real(file, size)), real(file, size)); }
int ftruncate64(int file, off64_t size) { REAL(ftruncate64); STRUCK(regular(file), 0, DONE(real(file, size)), real(file, size)); }
int fsync(int file) { REAL(fsync); STRUCK(1, 0, DONE(real(file)), real(file)); }
int fdatasync(int file) { REAL(fdatasync); STRUCK(1, 0, DONE(real(file)), real(file)); }
int unlink(const char *path) { REAL(unlink); STRUCK(1, 0, DONE(real(path)), real(path)); }
int rename(const char *from, const char *to) { REAL(rename); STRUCK(1, 0, DONE(real(from, to)), real(from, to)); }
