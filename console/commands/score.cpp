#include "console/commands/score.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <ostream>
#include <set>

#include <fmt/format.h>

#include "console/commands/write_file.hpp"
#include "console/debrief/chances.hpp"
#include "console/debrief/pen.hpp"
#include "console/debrief/score.hpp"
#include "console/debrief/score_sheet.hpp"
#include "console/picture/fold.hpp"
#include "protocol/append.hpp"
#include "protocol/log.hpp"

namespace stonecall::commands {
namespace {

using protocol::EventPtr;

std::optional<protocol::Log> read(const std::string& path, std::ostream& err) {
  auto log = protocol::read_log_file(path);
  if (!log) {
    err << "stonecall: " << path << ": " << protocol::to_string(log.error()) << '\n';
    return std::nullopt;
  }
  for (const auto& fault : log->faults)
    err << "stonecall: " << path << ": " << protocol::to_string(fault) << '\n';
  return std::move(*log);
}

std::vector<EventPtr> together(const protocol::Log& log, const protocol::Log& record) {
  std::vector<EventPtr> events = log.events;
  events.insert(events.end(), record.events.begin(), record.events.end());
  return events;
}

/// A stated chance and when the last was said that has been said of it, its own words included.
struct Stated {
  protocol::Uuid id;
  protocol::Timestamp last;
};

/// Numbered as on the sheet: what was taken back is no chance, and those that the log holds count
/// too.
std::vector<Stated> stated_chances(const std::vector<EventPtr>& events,
                                   const std::string& adviser) {
  const auto picture = picture::fold(events);
  const auto offset = events.empty() ? std::chrono::minutes(0) : events.front()->at.offset;
  std::vector<Stated> chances;
  for (const auto& call : picture->calls) {
    if (call.origin.from != adviser || !call.call.chance || !call.call.outcome) continue;
    Stated stated{call.origin.id, {call.origin.at, offset}};
    for (const auto& each : picture->remarks)
      if (each.remark.about == call.origin.id)
        stated.last.instant = std::max(stated.last.instant, each.origin.at);
    chances.push_back(stated);
  }
  return chances;
}

/// The words on a stated chance, as an event of the record. They stand after all that was said of
/// it before, else that would count and these would not.
EventPtr said_of(Stated& chance, const std::string& adviser, bool came_true) {
  protocol::Event remark;
  remark.id = protocol::random_uuid();
  chance.last.instant += std::chrono::milliseconds(1);
  remark.at = chance.last;
  remark.from = adviser;
  remark.body = debrief::outcome_said(chance.id, came_true);
  return std::make_shared<const protocol::Event>(std::move(remark));
}

/// Adds what came of the chances to the record in memory and on disk.
bool mark(const ScoreFiles& files, const protocol::Log& log, protocol::Log& record,
          std::ostream& err) {
  if (files.came_true.empty() && files.did_not.empty()) return true;
  auto chances = stated_chances(together(log, record), files.adviser);
  std::string lines;
  for (const auto& [numbers, came_true] :
       {std::pair{&files.came_true, true}, std::pair{&files.did_not, false}}) {
    for (const int number : *numbers) {
      if (number < 1 || static_cast<std::size_t>(number) > chances.size()) {
        err << "stonecall: there is no stated chance number " << number << "; " << chances.size()
            << (chances.size() == 1 ? " was stated\n" : " were stated\n");
        return false;
      }
      record.events.push_back(
          said_of(chances[static_cast<std::size_t>(number - 1)], files.adviser, came_true));
      lines += protocol::to_line(*record.events.back()) + '\n';
    }
  }
  const std::string why_not = protocol::append_lines(files.record, lines);
  if (!why_not.empty()) err << "stonecall: " << why_not << '\n';
  return why_not.empty();
}

std::vector<debrief::PracticeRun> read_runs(const std::string& path, std::ostream& err) {
  std::vector<debrief::PracticeRun> runs;
  std::ifstream in(path, std::ios::binary);
  std::size_t count = 0;
  for (std::string line; std::getline(in, line);) {
    ++count;
    auto run = debrief::parse_practice_run(line);
    if (run) {
      runs.push_back(std::move(*run));
    } else {
      run.error().line = count;
      err << "stonecall: " << path << ": " << protocol::to_string(run.error()) << '\n';
    }
  }
  return runs;
}

bool same_run(const debrief::PracticeRun& a, const debrief::PracticeRun& b) {
  return a.day == b.day && a.adviser == b.adviser && a.exercise == b.exercise;
}

/// Whose words the record has, where it has some and neither it nor the log has any of the
/// adviser's: the name is wrong then. Empty: they have.
std::set<std::string> who_else(const std::string& adviser, const protocol::Log& log,
                               const protocol::Log& record) {
  const auto is_theirs = [&](const EventPtr& event) { return event->from == adviser; };
  if (std::ranges::any_of(log.events, is_theirs) || std::ranges::any_of(record.events, is_theirs))
    return {};
  std::set<std::string> others;
  for (const EventPtr& event : record.events) others.insert(event->from);
  return others;
}

}  // namespace

int score(const ScoreFiles& files, std::ostream& out, std::ostream& err) {
  if (!spares({files.sheet, files.runs}, {files.log, files.record, files.ground}, err)) return 2;
  auto log = read(files.log, err);
  auto record = log ? read(files.record, err) : std::nullopt;
  if (!record) return 2;
  if (log->events.empty()) {
    err << "stonecall: no event could be read from " << files.log << '\n';
    return 2;
  }
  if (const auto others = who_else(files.adviser, *log, *record); !others.empty()) {
    err << "stonecall: nothing in " << files.record << " is from " << files.adviser
        << "; it is from " << debrief::listed({others.begin(), others.end()})
        << " (--name says whose calls are scored)\n";
    return 2;
  }
  if (!mark(files, *log, *record, err)) return 2;
  std::vector<debrief::StationTruth> truth;
  if (!files.ground.empty()) {
    std::ifstream in(files.ground, std::ios::binary);
    auto read = debrief::parse_truth(std::string(std::istreambuf_iterator<char>(in), {}));
    if (!read) {
      err << "stonecall: " << files.ground << ": " << protocol::to_string(read.error()) << '\n';
      return 2;
    }
    truth = std::move(*read);
  }
  const auto events = together(*log, *record);
  const auto back = debrief::look_back(
      {std::filesystem::path(files.log).filename().string(), events, log->faults});
  const auto sheet = debrief::score(back, events, files.adviser);
  const auto run = debrief::run_of(back, sheet, files.day);

  auto runs = files.runs.empty() ? std::vector<debrief::PracticeRun>{} : read_runs(files.runs, err);
  std::erase_if(runs, [&](const auto& each) { return same_run(each, run); });
  auto earlier = runs;
  std::erase_if(earlier, [&](const auto& each) { return each.adviser != run.adviser; });
  runs.push_back(run);
  std::string lines;
  for (const auto& each : runs) lines += debrief::to_line(each) + '\n';
  if (!write_file(files.sheet, debrief::score_sheet(back, sheet, earlier, truth), err)) return 2;
  if (!files.runs.empty() && !write_file(files.runs, lines, err)) return 2;

  const auto figure = [](const std::optional<double>& value) {
    return value ? fmt::format("{:.2f}", *value) : std::string("none yet");
  };
  out << fmt::format("{}: {}, worth given away a call {}, Brier score {}\n", files.adviser,
                     debrief::count(sheet.calls.size(), "call", "calls"),
                     figure(sheet.mean_regret()), figure(sheet.brier()));
  out << "the sheet is in " << files.sheet << '\n';
  return 0;
}

}  // namespace stonecall::commands
