// How long the desk takes to open a recorded log, to go to any time of it, and what it then needs
// in memory and at rest; and how that grows with the log. Run by hand:
// desk_open [--notes|--contradicting] [EVENTS…]; --notes: how long the reading of the notes beside
// takes, alone; --contradicting: a log that tells the same samples again and again, otherwise each
// time. desk_open LOG: that log, in this process, as a profiler of the heap wants it.
// Each size is measured in a process of its own, from a file.
// OpenGL is excluded: the frame is built, not painted.

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <mutex>
#include <random>
#include <string>
#include <string_view>
#include <thread>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "console/commands/desk_options.hpp"
#include "console/desk/note_reader.hpp"
#include "console/desk/replay_source.hpp"
#include "tests/benchmarks/larger_log.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall;
using namespace std::chrono_literals;
using Clock = std::chrono::steady_clock;

namespace {

double since(Clock::time_point begin) {
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

double processor_seconds() {
  return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

/// Largest resident memory of this process so far, MiB.
double peak_mib() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

/// Waits until the source shows the moment asked for.
class Shown {
 public:
  desk::Source::Wake wake() {
    return [this] {
      std::lock_guard lock(mutex_);
      changed_.notify_all();
    };
  }
  void wait(const desk::Source& source, protocol::Instant now) {
    std::unique_lock lock(mutex_);
    while (true) {
      const auto view = source.view();
      if (view->picture && view->now == now) return;
      changed_.wait_for(lock, 1ms);  // a wake may fall between the look and the wait
    }
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
};

struct Scrub {
  double median = 0, slowest_percent = 0;  // ms
};

Scrub scrub(desk::ReplaySource& source, Shown& shown, int times) {
  std::mt19937_64 random(7);
  const auto span = (source.end() - source.begin()).count();
  std::vector<double> ms;
  for (int i = 0; i < times; ++i) {
    const protocol::Instant to = source.begin() + protocol::Milliseconds(static_cast<std::int64_t>(
                                                      random() % static_cast<std::uint64_t>(span)));
    const auto begin = Clock::now();
    source.seek(to);
    shown.wait(source, to);
    ms.push_back(since(begin) * 1000);
  }
  std::ranges::sort(ms);
  return {ms[ms.size() / 2], ms[ms.size() * 99 / 100]};
}

void measure(const std::string& path, std::size_t count) {
  const auto begin = Clock::now();
  const double processor = processor_seconds();
  auto log = protocol::read_log_file(path);
  if (!log) std::exit(2);
  const double read = since(begin);

  Shown shown;
  desk::Workers workers = commands::workers();
  // Beside all this the notes are read, the newest first; those of a million are measured apart.
  constexpr std::size_t most_read = 100'000;
  if (count > most_read) workers.read_note = {};
  desk::ReplaySource source({std::move(log->events), "log", desk::Mode::replay, {}}, workers,
                            shown.wake());
  const protocol::Instant first = source.begin() + (source.end() - source.begin()) / 2;
  source.seek(first);
  shown.wait(source, first);
  const double pictured = since(begin);

  desk::testing::Headless headless;
  headless.frame(*source.view());
  const double framed = since(begin);
  const double processor_framed = processor_seconds() - processor;
  const double peak_framed = peak_mib();

  const Scrub cold = scrub(source, shown, 30);
  source.settle();
  // Until the source has gone through the whole log and comes to rest.
  for (double before = -1; processor_seconds() - before > 0.02;) {
    before = processor_seconds();
    std::this_thread::sleep_for(300ms);
  }
  const Scrub warm = scrub(source, shown, 200);
  source.seek(source.end());
  source.settle();
  headless.frames(*source.view(), 5);

  // At rest: a frame a second, as the window draws.
  for (double before = -1; processor_seconds() - before > 0.02;) {
    before = processor_seconds();
    std::this_thread::sleep_for(300ms);
  }
  const double busy = processor_seconds();
  const auto rest = Clock::now();
  for (int second = 0; second < 5; ++second) {
    headless.frame(*source.view());
    std::this_thread::sleep_for(1s);
  }
  const double idle = (processor_seconds() - busy) / since(rest);

  std::printf(
      "| %zu | %.0f | %.2f | %.2f | %.2f | %.2f | %.0f | %.1f | %.1f | %.1f | %.1f | %.0f | %.2f "
      "|\n",
      count, static_cast<double>(std::filesystem::file_size(path)) / 1e6, read, pictured, framed,
      processor_framed, peak_framed, cold.median, cold.slowest_percent, warm.median,
      warm.slowest_percent, peak_mib(), idle * 100);
  std::fflush(stdout);
}

/// How long all the notes take that are read beside, and each of them: it does not grow with the
/// log.
void measure_notes(const std::string& path) {
  auto log = protocol::read_log_file(path);
  if (!log) std::exit(2);
  const auto picture = picture::fold(log->events);
  const auto notes = static_cast<std::size_t>(
      std::ranges::count_if(picture->heard, [](const picture::HeardLine& line) {
        return std::holds_alternative<protocol::VoiceNote>(line.event->body);
      }));
  desk::NoteReader reader(commands::workers().read_note, {});
  const auto begin = Clock::now();
  const double processor = processor_seconds();
  reader.want(picture);
  reader.settle(notes);
  const double used = processor_seconds() - processor;
  std::printf("| %zu | %zu | %zu | %.2f | %.2f | %.1f |\n", log->events.size(), notes,
              picture->samples.size(), since(begin), used, used * 1e6 / static_cast<double>(notes));
  std::fflush(stdout);
}

/// What `work` does is done, and its memory given back, when this returns.
template <class Work>
void apart(Work&& work) {
  const pid_t child = fork();
  if (child == 0) {
    work();
    std::_Exit(0);
  }
  int status = 0;
  waitpid(child, &status, 0);
  if (status != 0) std::exit(1);
}

}  // namespace

int main(int argc, char** argv) {
  std::vector<std::size_t> sizes;
  const std::string_view option = argc > 1 && argv[1][0] == '-' ? argv[1] : "";
  const bool notes_alone = option == "--notes";
  const auto copies = option == "--contradicting" ? benchmarks::Copies::same_samples_otherwise
                                                  : benchmarks::Copies::other_samples;
  if (argc == 2 && std::filesystem::is_regular_file(argv[1])) {
    measure(argv[1], 0);
    return 0;
  }
  for (int i = option.empty() ? 1 : 2; i < argc; ++i)
    sizes.push_back(std::strtoull(argv[i], nullptr, 10));
  if (sizes.empty()) sizes = {1'000, 10'000, 100'000, 1'000'000};
  if (notes_alone)
    std::puts(
        "| events | notes | samples | all read, s | processor, s | processor, us a note |\n"
        "|---|---|---|---|---|---|");
  else
    std::puts(
        "| events | MB | read, s | pictured, s | first frame, s | processor, s | peak MiB | scrub "
        "at "
        "once, ms | p99 | "
        "scrub, ms | p99 | peak MiB | at rest, % of a core |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|---|---|");
  std::fflush(stdout);
  const std::string path =
      (std::filesystem::temp_directory_path() / ("desk_open_" + std::to_string(getpid()))).string();
  for (const std::size_t count : sizes) {
    apart([&] {
      const auto recorded = protocol::read_log_file(STONECALL_REPLAY_LOGS "/varrow_rim.jsonl");
      if (!recorded) std::_Exit(2);
      std::ofstream out(path, std::ios::binary);
      for (const auto& event : benchmarks::repeated_at_random(recorded->events, count, copies))
        out << protocol::to_line(event) << '\n';
    });
    apart([&] { notes_alone ? measure_notes(path) : measure(path, count); });
    std::filesystem::remove(path);
  }
}
