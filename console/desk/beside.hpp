#pragma once

#include <algorithm>
#include <cerrno>

#include <sys/resource.h>
#include <unistd.h>

namespace stonecall::desk {

/// Where processors are few, the thread that calls this lets others of the program go first: what
/// moves the desk is not to wait for what is worked out beside it. `steps` as of nice(2). Linux
/// keeps this value for each thread.
inline void let_others_first(int steps) {
  constexpr int last = 19;
  const auto self = static_cast<id_t>(::gettid());
  errno = 0;
  const int now = ::getpriority(PRIO_PROCESS, self);
  if (now == -1 && errno != 0) return;
  ::setpriority(PRIO_PROCESS, self, std::min(now + steps, last));
}

}  // namespace stonecall::desk
