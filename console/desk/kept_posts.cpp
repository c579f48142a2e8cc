#include "console/desk/kept_posts.hpp"

#include <algorithm>
#include <cerrno>
#include <optional>
#include <sstream>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <nlohmann/json.hpp>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "protocol/log.hpp"
#include "protocol/time.hpp"

namespace stonecall::desk {
namespace {

namespace fs = std::filesystem;

constexpr int desks_at_once = 32;
constexpr std::string_view ending = ".jsonl";

/// Opened and ours alone, or -1: another desk has it (unless we wait for it), or it may not be
/// written.
int open_alone(const fs::path& file, int flags, bool wait = false) {
  for (;;) {
    const int descriptor = ::open(file.c_str(), O_RDWR | O_APPEND | O_CLOEXEC | flags, 0600);
    if (descriptor < 0) return -1;
    struct stat ours {};
    struct stat named {};
    const bool alone = ::flock(descriptor, wait ? LOCK_EX : LOCK_EX | LOCK_NB) == 0;
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

std::string line_for(const MeantFor& meant_for) {
  const nlohmann::json said{{"server", meant_for.server}, {"exercise", meant_for.exercise}};
  return nlohmann::json{{"meant_for", said}}.dump(-1, ' ', false,
                                                  nlohmann::json::error_handler_t::replace) +
         '\n';
}

std::optional<MeantFor> meant_for_in(const std::string& line) {
  constexpr std::string_view begins = R"({"meant_for")";
  if (!line.starts_with(begins)) return std::nullopt;
  const auto read = nlohmann::json::parse(line, nullptr, false);
  if (read.is_discarded() || !read.is_object()) return std::nullopt;
  const auto said = read.find("meant_for");
  if (said == read.end() || !said->is_object()) return std::nullopt;
  const auto member = [&](const char* name) {
    const auto found = said->find(name);
    return found != said->end() && found->is_string() ? found->get<std::string>() : std::string();
  };
  return MeantFor{member("server"), member("exercise")};
}

/// Calls `each` with the events, and what they are meant for, in their order.
template <class Each>
void read_kept(const std::string& content, Each&& each) {
  std::istringstream lines(content);
  MeantFor meant_for;
  std::string line;
  std::string events;
  const auto give = [&] {
    std::istringstream text(std::exchange(events, {}));
    for (const protocol::EventPtr& event : protocol::read_log(text).events) each(event, meant_for);
  };
  while (std::getline(lines, line)) {
    if (auto said = meant_for_in(line)) {
      give();
      meant_for = std::move(*said);
    } else {
      events += line + '\n';
    }
  }
  give();
}

/// FILE, FILE.2, … of the desks that sit at one machine.
fs::path nth(const fs::path& file, int n) {
  return n == 1 ? file : fs::path(file.string() + "." + std::to_string(n));
}

}  // namespace

std::string name_of_server(const protocol::ServerAddress& server) {
  std::string host = server.host;
  std::ranges::transform(host, host.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  const bool six = host.find(':') != std::string::npos;
  return (six ? "[" + host + "]" : host) + ":" + std::to_string(server.port);
}

std::string name_of_exercise(const protocol::Plan& plan) {
  return plan.name + ", " + protocol::to_string(plan.start);
}

fs::path kept_file(const fs::path& folder, const protocol::ServerAddress& server) {
  if (folder.empty()) return {};
  std::string name = name_of_server(server);
  for (char& c : name) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '.' || c == '-';
    if (!plain) c = '_';
  }
  return folder / "unsent" / (name + std::string(ending));
}

fs::path kept_aside(const fs::path& file) {
  return file.string() + ".aside";
}

std::vector<KeptElsewhere> kept_elsewhere(const fs::path& ours) {
  std::vector<KeptElsewhere> out;
  if (ours.empty()) return out;
  std::error_code error;
  std::vector<fs::path> files;
  for (fs::directory_iterator each(ours.parent_path(), error), end; !error && each != end;
       each.increment(error)) {
    const std::string name = each->path().filename().string();
    const bool kept = name.find(ending) != std::string::npos;
    if (kept && !name.starts_with(ours.filename().string())) files.push_back(each->path());
  }
  std::ranges::sort(files);
  for (const fs::path& file : files) {
    const int descriptor = open_alone(file, 0);
    if (descriptor < 0) continue;
    read_kept(content_of(descriptor), [&](const protocol::EventPtr&, const MeantFor& meant_for) {
      if (out.empty() || out.back().file != file || out.back().meant_for != meant_for)
        out.push_back({meant_for, 0, file});
      ++out.back().posts;
    });
    ::close(descriptor);
  }
  return out;
}

KeptPosts::KeptPosts(const fs::path& file, std::string server, const fs::path& before)
    : server_(std::move(server)) {
  if (file.empty()) return;
  std::error_code no_folder;
  fs::create_directories(file.parent_path(), no_folder);
  aside_ = kept_aside(file);
  for (int n = 1; n <= desks_at_once; ++n) adopt(nth(file, n));
  adopt(aside_);
  if (!before.empty())
    for (int n = 1; n <= desks_at_once; ++n) adopt(nth(before, n));
  if (descriptor_ < 0)
    fault_ = file.string() + ": " +
             (no_folder ? no_folder.message() : std::generic_category().message(errno));
}

KeptPosts::~KeptPosts() {
  if (descriptor_ < 0) return;
  if (empty_) ::unlink(file_.c_str());
  ::close(descriptor_);
}

void KeptPosts::adopt(const fs::path& file) {
  const bool first = descriptor_ < 0;
  if (first && file == aside_) return;
  const int descriptor = open_alone(file, first ? O_CREAT : 0);
  if (descriptor < 0) return;
  const std::string content = content_of(descriptor);
  read_kept(content, [&](const protocol::EventPtr& event, const MeantFor& meant_for) {
    left_.push_back({event, meant_for.exercise});
  });
  if (first) {
    descriptor_ = descriptor;
    file_ = file;
    empty_ = content.empty();
  } else if (!content.empty()) {
    // Its lines say themselves what they are meant for, or nobody knows.
    write(line_for({server_, {}}));
    write(content);
  }
  // A desk that was killed may have left half a line; what comes next is kept apart from it.
  if (!content.empty() && content.back() != '\n') write("\n");
  if (!content.empty()) said_ = false;
  if (first) return;
  sync();
  ::unlink(file.c_str());
  ::close(descriptor);
}

void KeptPosts::write(std::string_view bytes) {
  if (descriptor_ < 0) return;
  const auto written = [&](std::string_view part) {
    while (!part.empty()) {
      const ssize_t count = ::write(descriptor_, part.data(), part.size());
      if (count <= 0) {
        fault_ = file_.string() + ": " + std::generic_category().message(errno);
        return false;
      }
      torn_ = true;
      empty_ = false;
      unsynced_ = true;
      part.remove_prefix(static_cast<std::size_t>(count));
    }
    torn_ = false;
    return true;
  };
  // What did not fit may fit again later, and is no end of half a line then.
  if (torn_ && !written("\n")) return;
  if (!written(bytes)) said_ = false;
}

void KeptPosts::add(const protocol::Event& event, const std::string& exercise) {
  std::string lines;
  if (!said_ || exercise != exercise_) lines = line_for({server_, exercise});
  said_ = true;  // unless it cannot be written
  exercise_ = exercise;
  write(lines + protocol::to_line(event) + '\n');
}

std::string KeptPosts::lines_of(const std::vector<Left>& posts) const {
  std::string lines;
  std::optional<std::string> exercise;
  for (const Left& post : posts) {
    if (exercise != post.exercise) lines += line_for({server_, post.exercise});
    exercise = post.exercise;
    lines += protocol::to_line(*post.event) + '\n';
  }
  return lines;
}

bool KeptPosts::set_aside(const std::vector<Left>& posts) {
  if (posts.empty() || aside_.empty()) return posts.empty();
  // A desk that takes the file up now, or adds to it, is soon done.
  const int descriptor = open_alone(aside_, O_CREAT, true);
  if (descriptor < 0) return false;
  const std::string lines = lines_of(posts);
  const bool written =
      ::write(descriptor, lines.data(), lines.size()) == static_cast<ssize_t>(lines.size()) &&
      ::fdatasync(descriptor) == 0;
  ::close(descriptor);
  return written;
}

void KeptPosts::take_from_aside(const std::vector<Left>& posts) {
  if (posts.empty() || aside_.empty()) return;
  const int descriptor = open_alone(aside_, 0, true);
  if (descriptor < 0) return;
  std::vector<Left> others;
  read_kept(content_of(descriptor), [&](const protocol::EventPtr& event, const MeantFor& meant) {
    const bool taken =
        std::ranges::any_of(posts, [&](const Left& post) { return post.event->id == event->id; });
    if (!taken) others.push_back({event, meant.exercise});
  });
  // Who waits for the file sees that it is another one, and opens that.
  const fs::path anew = aside_.string() + ".new";
  bool done = others.empty();
  if (!done) {
    const std::string lines = lines_of(others);
    const int written = ::open(anew.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    done = written >= 0 &&
           ::write(written, lines.data(), lines.size()) == static_cast<ssize_t>(lines.size()) &&
           ::fdatasync(written) == 0;
    if (written >= 0) ::close(written);
  }
  if (done && others.empty()) ::unlink(aside_.c_str());
  if (done && !others.empty()) ::rename(anew.c_str(), aside_.c_str());
  ::close(descriptor);
}

void KeptPosts::sync() {
  if (std::exchange(unsynced_, false) && ::fdatasync(descriptor_) != 0)
    fault_ = file_.string() + ": " + std::generic_category().message(errno);
}

void KeptPosts::clear() {
  if (descriptor_ < 0) return;
  if (!empty_) empty_ = ::ftruncate(descriptor_, 0) == 0;
  said_ = false;
  if (!empty_) return;
  torn_ = false;
  fault_.clear();  // nothing waits
}

}  // namespace stonecall::desk
