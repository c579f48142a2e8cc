#include "console/commands/check.hpp"

#include <iterator>
#include <map>
#include <ostream>

#include <fmt/format.h>

#include "console/commands/read_file.hpp"
#include "console/estimate/geodesy.hpp"
#include "console/picture/fold.hpp"
#include "protocol/json_line.hpp"
#include "protocol/log.hpp"
#include "protocol/plan_file.hpp"

namespace stonecall::commands {
namespace {

using namespace protocol;

/// A plan is one JSON object over many lines, a log an object a line: the first line tells them
/// apart.
bool looks_like_plan(std::istream& in) {
  std::string first;
  while (std::getline(in, first) && first.find_first_not_of(" \t\r") == std::string::npos) {
  }
  in.clear();
  in.seekg(0);
  const auto json = Json::parse(first, nullptr, false);
  return json.is_discarded() || !json.is_object()
             ? first.find("\"kind\"") == std::string::npos
             : json.contains("stations") && !json.contains("kind");
}

/// What a plan may say, and hardly means.
std::vector<Fault> doubtful(const Plan& plan) {
  std::vector<Fault> looks;
  const double metres_a_minute = plan.walking.speed_kmh * 1000 / 60;
  const estimate::Place base{plan.base.position.latitude, plan.base.position.longitude};
  double before = 0;
  for (std::size_t i = 0; i < plan.stations.size(); ++i) {
    const auto& station = plan.stations[i];
    const std::string member = "stations[" + std::to_string(i) + "]";
    const double away =
        estimate::distance_metres(base, {station.position.latitude, station.position.longitude});
    if (2 * away > plan.duration_minutes * metres_a_minute)
      looks.push_back({member + ".latitude",
                       fmt::format("{} stands {:.1f} km from the base, farther than there and back "
                                   "in the whole time; is a sign or a digit wrong?",
                                   station.station, away / 1000),
                       {}});
    if (!station.arrive_minutes) continue;
    if (*station.arrive_minutes > plan.duration_minutes)
      looks.push_back({member + ".arrive_minutes", "is after the end of the exercise", {}});
    else if (*station.arrive_minutes < before)
      looks.push_back({member + ".arrive_minutes", "is before that of a station before it", {}});
    before = *station.arrive_minutes;
  }
  return looks;
}

int check_plan(std::istream& in, const std::string& path, std::ostream& out) {
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  auto [plan, faults, looks] = read_plan(text);
  for (const Fault& fault : faults) out << path << ": " << to_string(fault) << '\n';
  for (Fault each : plan ? doubtful(*plan) : std::vector<Fault>{}) {
    each.line = line_in_json(text, each.member);
    looks.push_back(std::move(each));
  }
  for (const Fault& each : looks) out << path << ": look at this: " << to_string(each) << '\n';
  if (!plan) {
    out << faults.size() << (faults.size() == 1 ? " fault\n" : " faults\n");
    return 1;
  }
  out << path << ": plan \"" << plan->name << "\", " << plan->stations.size()
      << (plan->stations.size() == 1 ? " station, " : " stations, ") << plan->vocabulary.size()
      << " rock kinds, " << plan->wanted.size() << " wanted\nno fault";
  if (!looks.empty()) out << ", " << looks.size() << " to look at";
  out << '\n';
  return 0;
}

int check_log(std::istream& in, const std::string& path, std::ostream& out) {
  std::size_t faults = 0;
  std::vector<EventPtr> events;
  std::map<std::string, std::size_t, std::less<>> kinds;
  LogReader reader([&](LogReader::Item item) {
    if (const auto* fault = std::get_if<Fault>(&item)) {
      ++faults;
      out << path << ": " << to_string(*fault) << '\n';
      return;
    }
    auto event = std::make_shared<const Event>(std::get<Event>(std::move(item)));
    ++kinds[std::string(kind_of(*event))];
    events.push_back(std::move(event));
  });
  std::string buffer(256 * 1024, '\0');
  while (in) {
    in.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
    reader.feed({buffer.data(), static_cast<std::size_t>(in.gcount())});
  }
  reader.finish();

  const auto picture = picture::fold(events);
  for (const auto& flag : picture->flags) out << path << ": look at this: " << flag.text << '\n';

  out << path << ": " << reader.lines() << " lines, " << events.size() << " events";
  for (const auto& [kind, count] : kinds)
    out << (kind == kinds.begin()->first ? ": " : ", ") << count << ' ' << kind;
  out << '\n';
  if (picture->not_understood > 0)
    out << picture->not_understood << " of a kind not understood here (kept)\n";
  if (!picture->plan)
    out << "no plan in this log: clocks, wanted kinds and turn-back can not be worked out\n";
  out << (faults == 0 ? "no fault" : std::to_string(faults) + (faults == 1 ? " fault" : " faults"));
  if (!picture->flags.empty()) out << ", " << picture->flags.size() << " to look at";
  out << '\n';
  return faults == 0 ? 0 : 1;
}

}  // namespace

int check(const std::string& path, std::ostream& out, std::ostream& err) {
  auto in = open_file(path);
  if (!in) {
    err << "stonecall: " << to_string(in.error()) << '\n';
    return 2;
  }
  return looks_like_plan(*in) ? check_plan(*in, path, out) : check_log(*in, path, out);
}

}  // namespace stonecall::commands
