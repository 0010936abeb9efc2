// Under the thread sanitizer alone: waiting for a thread's end by looking again and again. libjack cancels a thread of each client that closes, or whose server is gone, and that thread may
// just be waiting for another one; the sanitizer ends a program in which a thread ends in pthread_join, for it looks away there.
#include <pthread.h>
#include <unistd.h>

#include <cerrno>

extern "C" int pthread_join(pthread_t thread, void** result) {
  if (pthread_equal(thread, pthread_self())) return pthread_testcancel(), EDEADLK;
  for (;;) {
    const int error = pthread_tryjoin_np(thread, result);
    if (error != EBUSY) return error;
    usleep(1000);
  }
}
