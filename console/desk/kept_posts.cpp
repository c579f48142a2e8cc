#include "console/desk/kept_posts.hpp"

#include <sstream>
#include <string>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "protocol/log.hpp"

namespace stonecall::desk {
namespace {

constexpr int desks_at_once = 32;

/// Opened and ours alone, or -1: another desk has it, or it may not be written.
int open_alone(const std::filesystem::path& file, int flags) {
  for (;;) {
    const int descriptor = ::open(file.c_str(), O_RDWR | O_APPEND | O_CLOEXEC | flags, 0600);
    if (descriptor < 0) return -1;
    struct stat ours {};
    struct stat named {};
    const bool alone = ::flock(descriptor, LOCK_EX | LOCK_NB) == 0;
    // The desk that had it may have taken it away in between.
    const bool there = ::fstat(descriptor, &ours) == 0 && ::stat(file.c_str(), &named) == 0 &&
                       ours.st_ino == named.st_ino;
    if (alone && there) return descriptor;
    ::close(descriptor);
    if (!alone) return -1;
  }
}

std::string content_of(int descriptor) {
  std::string content;
  char part[16 * 1024];
  for (ssize_t got = 0;
       (got = ::pread(descriptor, part, sizeof part, static_cast<off_t>(content.size()))) > 0;)
    content.append(part, static_cast<std::size_t>(got));
  return content;
}

}  // namespace

KeptPosts::KeptPosts(const std::filesystem::path& file) {
  if (file.empty()) return;
  std::error_code ignored;  // opening tells
  std::filesystem::create_directories(file.parent_path(), ignored);
  for (int n = 1; n <= desks_at_once; ++n)
    adopt(n == 1 ? file : std::filesystem::path(file.string() + "." + std::to_string(n)));
}

KeptPosts::~KeptPosts() {
  if (descriptor_ < 0) return;
  if (empty_) ::unlink(file_.c_str());
  ::close(descriptor_);
}

void KeptPosts::adopt(const std::filesystem::path& file) {
  const bool first = descriptor_ < 0;
  const int descriptor = open_alone(file, first ? O_CREAT : 0);
  if (descriptor < 0) return;
  const std::string content = content_of(descriptor);
  std::istringstream text(content);
  protocol::Log log = protocol::read_log(text);
  left_.insert(left_.end(), log.events.begin(), log.events.end());
  if (first) {
    descriptor_ = descriptor;
    file_ = file;
    empty_ = content.empty();
  } else {
    write(content);
  }
  // A desk that was killed may have left half a line; what comes next is kept apart from it.
  if (!content.empty() && content.back() != '\n') write("\n");
  if (first) return;
  sync();
  ::unlink(file.c_str());
  ::close(descriptor);
}

void KeptPosts::write(std::string_view bytes) {
  if (descriptor_ < 0) return;
  while (!bytes.empty()) {
    const ssize_t written = ::write(descriptor_, bytes.data(), bytes.size());
    if (written <= 0) return;
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  empty_ = false;
  unsynced_ = true;
}

void KeptPosts::add(const protocol::Event& event) {
  write(protocol::to_line(event) + '\n');
}

void KeptPosts::sync() {
  if (std::exchange(unsynced_, false)) ::fdatasync(descriptor_);
}

void KeptPosts::clear() {
  if (descriptor_ < 0 || empty_) return;
  empty_ = ::ftruncate(descriptor_, 0) == 0;
}

}  // namespace stonecall::desk
