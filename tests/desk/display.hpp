#pragma once

#include <csignal>
#include <cstdlib>
#include <string>

#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stonecall::desk::testing {

/// A display without a screen for as long as this lives: Xvfb on a free number, drawing in
/// software.
class Display {
 public:
  Display() {
    int ready[2];
    if (pipe(ready) != 0) return;
    server_ = fork();
    if (server_ == 0) {
      prctl(PR_SET_PDEATHSIG, SIGTERM);  // goes when the tests go, however they go
      close(ready[0]);
      std::string fd = std::to_string(ready[1]);
      dup2(open("/dev/null", O_WRONLY), STDERR_FILENO);
      // Between two windows of a test nobody is connected: the server must not begin anew then.
      execlp("Xvfb", "Xvfb", "-displayfd", fd.c_str(), "-screen", "0", "1920x1200x24", "-nolisten",
             "tcp", "-noreset", nullptr);
      _exit(127);
    }
    close(ready[1]);
    std::string number;
    char c = 0;
    while (read(ready[0], &c, 1) == 1 && c != '\n') number += c;
    close(ready[0]);
    if (number.empty()) return;
    up_ = true;
    setenv("DISPLAY", (":" + number).c_str(), 1);
    setenv("LIBGL_ALWAYS_SOFTWARE", "1", 1);
    unsetenv("WAYLAND_DISPLAY");
  }
  ~Display() {
    if (server_ <= 0) return;
    kill(server_, SIGTERM);
    waitpid(server_, nullptr, 0);
  }
  Display(const Display&) = delete;
  Display& operator=(const Display&) = delete;

  bool up() const { return up_; }  ///< false: Xvfb is not installed

 private:
  pid_t server_ = -1;
  bool up_ = false;
};

}  // namespace stonecall::desk::testing
