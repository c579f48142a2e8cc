// How many events a second the server acknowledges, how long an event takes from a sender to the
// desks, how many it delivers flat out, what desks that never read cost, and what a large store
// does: start-up, catch-up, memory. Where Redis, PostgreSQL and mosquitto are installed they do the
// same work in the same run, driven by the same code, and the figures of Redis are what ours are
// held against. Every event is checked to be acknowledged and delivered. The files lie in the
// temporary folder (TMPDIR).
//
// Usage: server_speed [--seconds S] [--rounds R] [--turns T] [--stored N] [--only TABLE]
// [--posters N…] [--of NAME…]

#include <algorithm>
#include <array>
#include <chrono>
#include <filesystem>
#include <functional>
#include <iostream>
#include <memory>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include <CLI/CLI.hpp>
#include <spdlog/fmt/fmt.h>

#include "tests/benchmarks/load/drive.hpp"
#include "tests/benchmarks/load/parties.hpp"
#include "tests/server/running.hpp"
#include "tests/support/folder.hpp"

namespace {

using namespace stonecall::benchmarks;
using stonecall::server::tests::Http;
using stonecall::server::tests::Program;
using stonecall::tests::Folder;

/// Cells of a table that may stay empty.
std::string cell(double value, int digits) {
  return value > 0 ? fmt::format("{:.{}f}", value, digits) : "";
}

std::string row(const std::vector<std::string>& cells) {
  std::string line = "|";
  for (const auto& text : cells) line += " " + text + " |";
  return line + "\n";
}

std::string head(const std::string& first, const std::vector<Party>& parties,
                 const std::vector<std::string>& more) {
  std::vector<std::string> cells{first};
  for (const Party& party : parties) cells.push_back(party.name);
  cells.insert(cells.end(), more.begin(), more.end());
  return row(cells) + row(std::vector<std::string>(cells.size(), "---"));
}

/// Where a party of this name stands, if it is there.
std::optional<std::size_t> place_of(const std::string& name, const std::vector<Party>& parties) {
  for (std::size_t p = 0; p < parties.size(); ++p) {
    if (parties[p].name == name) return p;
  }
  return std::nullopt;
}

/// A figure of each party, [party][round].
using Rounds = std::vector<std::vector<double>>;

/// What ours is of theirs in the same round: the median over the rounds, the least and the most.
/// Empty where one of the two was not measured.
std::string ratio_cell(const char* ours, const std::vector<Party>& parties, const Rounds& figures) {
  const auto mine = place_of(ours, parties);
  const auto redis = place_of("Redis", parties);
  if (!mine || !redis) return "";
  std::vector<double> ratios;
  for (std::size_t round = 0; round < figures[*mine].size(); ++round)
    ratios.push_back(figures[*mine][round] / figures[*redis][round]);
  const auto [least, most] = std::minmax_element(ratios.begin(), ratios.end());
  return fmt::format("{:.2f} ({:.2f} to {:.2f})", median(ratios), *least, *most);
}

/// How the parties are measured. In each round they take several turns: a busy neighbour of the
/// machine halves for seconds what all of them can do, and would else fall upon one of them.
struct Pace {
  int rounds;
  int turns;
  double seconds;  ///< of each party, in all turns of a round

  /// Tells `measure` whose turn it is and how many seconds it has, and at the end of each round
  /// `take`.
  void go(std::size_t parties, const std::function<void(std::size_t, double)>& measure,
          const std::function<void()>& take) const {
    // What a server leaves for a pause, as ours its index, is to burden no other's turn.
    constexpr std::chrono::milliseconds settling{200};
    for (int round = 0; round < rounds; ++round) {
      for (int turn = 0; turn < turns; ++turn) {
        for (std::size_t p = 0; p < parties; ++p) {
          std::this_thread::sleep_for(settling);
          measure(p, seconds / turns);
        }
      }
      take();
    }
  }
};

void acknowledged_table(const std::vector<Party>& parties, const std::vector<int>& posters,
                        const Pace& pace) {
  const std::vector<std::string> ratios{"WebSocket/Redis", "HTTP/Redis"};
  std::string rates = head("acknowledged events/s", parties, ratios);
  std::string tails = head("99th percentile of the acknowledgement, ms", parties, ratios);
  for (const int senders : posters) {
    Rounds rate(parties.size());
    Rounds tail(parties.size());
    std::vector<Acknowledged> got(parties.size());
    pace.go(
        parties.size(),
        [&](std::size_t p, double seconds) { post(parties[p], senders, seconds, got[p]); },
        [&] {
          for (std::size_t p = 0; p < parties.size(); ++p) {
            rate[p].push_back(got[p].per_second());
            tail[p].push_back(percentile(std::exchange(got[p], {}).times_ms, 0.99));
          }
        });
    const auto add = [&](std::string& table, const Rounds& figures, int digits) {
      std::vector<std::string> cells{fmt::format("{} posters", senders)};
      for (const auto& figure : figures) cells.push_back(cell(median(figure), digits));
      for (const char* name : {"WebSocket", "HTTP"})
        cells.push_back(ratio_cell(name, parties, figures));
      table += row(cells);
    };
    add(rates, rate, 0);
    add(tails, tail, 2);
  }
  std::cout << rates << '\n' << tails << std::endl;
}

void delay_table(const std::vector<Party>& parties, const Pace& pace) {
  constexpr double per_second = 200;
  std::cout << head("post to desk at 200 events/s, ms: median / 99th percentile", parties,
                    {"median: WebSocket/Redis", "99th: WebSocket/Redis"});
  for (const int desks : {1, 50}) {
    Rounds middle(parties.size());
    Rounds tail(parties.size());
    Rounds delays(parties.size());
    pace.go(
        parties.size(),
        [&](std::size_t p, double seconds) {
          post_to_desks(parties[p], desks, static_cast<int>(per_second * seconds), per_second,
                        delays[p]);
        },
        [&] {
          for (std::size_t p = 0; p < parties.size(); ++p) {
            middle[p].push_back(median(delays[p]));
            tail[p].push_back(percentile(std::exchange(delays[p], {}), 0.99));
          }
        });
    std::vector<std::string> cells{fmt::format("{} desks", desks)};
    for (std::size_t p = 0; p < parties.size(); ++p)
      cells.push_back(fmt::format("{:.2f} / {:.2f}", median(middle[p]), median(tail[p])));
    cells.push_back(ratio_cell("WebSocket", parties, middle));
    cells.push_back(ratio_cell("WebSocket", parties, tail));
    std::cout << row(cells) << std::flush;
  }
  std::cout << std::endl;
}

void flat_out_table(const std::vector<Party>& parties, const Pace& pace) {
  std::cout << head("delivered events/s, 16 posters flat out", parties, {"WebSocket/Redis"});
  for (const int desks : {50, 200}) {
    Rounds rate(parties.size());
    std::vector<double> delivered(parties.size());
    pace.go(
        parties.size(),
        [&](std::size_t p, double seconds) {
          delivered[p] += flat_out(parties[p], 16, desks, seconds) / pace.turns;
        },
        [&] {
          for (std::size_t p = 0; p < parties.size(); ++p)
            rate[p].push_back(std::exchange(delivered[p], 0));
        });
    std::vector<std::string> cells{fmt::format("{} desks", desks)};
    for (const auto& figure : rate) cells.push_back(cell(median(figure), 0));
    cells.push_back(ratio_cell("WebSocket", parties, rate));
    std::cout << row(cells) << std::flush;
  }
  std::cout << std::endl;
}

/// Two hundred desks follow, and twenty of them never read.
void slow_desks(const Party& party, int pid, double seconds) {
  const double before = most_memory(pid);
  std::vector<Follower> silent;
  for (int i = 0; i < 20; ++i) silent.push_back(party.follower());
  const double delivered = flat_out(party, 16, 180, seconds);
  std::cout << fmt::format(
      "200 desks of which 20 never read: the others get each event, {:.0f}/s together; memory from "
      "{:.0f} to {:.0f} MiB\n\n",
      delivered, before, most_memory(pid));
}

double seconds_since(std::chrono::steady_clock::time_point begin) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

/// A store and a stream of so many events: filled, opened again, read from the start.
void stored_table(const Folder& folder, std::size_t events) {
  const std::string arguments = "--store " + (folder / "large").string() + " --rate 0";
  {
    const Program program(arguments);
    Http http(program.port());
    Events texts;
    const auto begin = std::chrono::steady_clock::now();
    for (std::size_t done = 0; done < events; done += 1'000) {
      std::string lines;
      for (int i = 0; i < 1'000; ++i) lines.append(texts.next()).append("\n");
      if (http.post(lines, "application/x-ndjson").result_int() != 200)
        throw std::runtime_error("not acknowledged");
    }
    std::cout << fmt::format("{} events stored in posts of 1,000: {:.0f} events/s, {:.0f} MiB\n",
                             events, static_cast<double>(events) / seconds_since(begin),
                             most_memory(program.pid()));
  }  // killed
  auto begin = std::chrono::steady_clock::now();
  const Program again(arguments);
  Http(again.port()).get("/health");
  const double first_answer = seconds_since(begin);
  if (Http(again.port()).post(Events().next()).result_int() != 200)
    throw std::runtime_error("not acknowledged");
  std::cout << fmt::format(
      "killed and started again: {:.2f} s to the first answer, {:.2f} s to the first post on disk, "
      "{:.0f} MiB\n",
      first_answer, seconds_since(begin), most_memory(again.pid()));
  const double ours = catch_up(stonecall_desk(again.port(), 0), events);
  std::cout << fmt::format("a desk catches up: {:.0f} events/s, server {:.0f} MiB\n",
                           static_cast<double>(events) / ours, most_memory(again.pid()));
  const Folder other;
  if (const auto redis = start_redis(other.path())) {
    fill_redis(redis->port(), events);
    const double theirs = catch_up(redis_desk_from_the_start(redis->port()), events);
    std::cout << fmt::format("Redis: {:.0f} events/s, {:.0f} MiB\n",
                             static_cast<double>(events) / theirs, most_memory(redis->pid()));
  }
}

}  // namespace

int main(int argc, char** argv) {
  double seconds = 2;
  int rounds = 5;
  int turns = 5;
  std::size_t stored = 1'000'000;
  std::string only;
  std::vector<int> posters{1, 16, 64};
  std::vector<std::string> of{"WebSocket", "HTTP", "Redis", "mosquitto", "PostgreSQL"};
  CLI::App app{"Measures the server, beside others where they are installed."};
  app.add_option("--seconds", seconds, "of each server in a round")->capture_default_str();
  app.add_option("--rounds", rounds, "the median of these is shown")->capture_default_str();
  app.add_option("--turns", turns, "that make up these")->capture_default_str();
  app.add_option("--stored", stored, "events of the large store")->capture_default_str();
  app.add_option("--only", only, "one of the tables")
      ->check(CLI::IsMember({"acknowledged", "delay", "flat-out", "slow-desks", "stored"}));
  app.add_option("--posters", posters, "how many at a time")->capture_default_str();
  app.add_option("--of", of, "which servers")->capture_default_str();
  CLI11_PARSE(app, argc, argv);
  const auto is_of = [&](const char* name) {
    return std::find(of.begin(), of.end(), name) != of.end();
  };
  const auto wanted = [&](const char* table) { return only.empty() || only == table; };

  const Folder folder;
  const Program program("--store " + (folder / "store").string() + " --rate 0");
  const auto redis = is_of("Redis") ? start_redis(folder.path()) : nullptr;
  const auto broker = is_of("mosquitto") ? start_mosquitto(folder.path()) : nullptr;
  const auto database = is_of("PostgreSQL") ? start_postgresql(folder.path()) : nullptr;

  std::vector<Party> parties;
  if (is_of("WebSocket")) parties.push_back(stonecall_over_websocket(program.port()));
  if (is_of("HTTP")) parties.push_back(stonecall_over_http(program.port()));
  if (redis) parties.push_back(redis_streams(redis->port()));
  if (broker) parties.push_back(mosquitto(broker->port()));
  if (database) parties.push_back(postgresql(database->port()));
  std::vector<Party> followed;
  for (const Party& party : parties) {
    if (party.follower) followed.push_back(party);
  }

  const Pace pace{rounds, turns, seconds};
  if (wanted("acknowledged")) acknowledged_table(parties, posters, pace);
  if (wanted("delay")) delay_table(followed, pace);
  if (wanted("flat-out")) flat_out_table(followed, pace);
  if (wanted("slow-desks"))
    slow_desks(stonecall_over_websocket(program.port()), program.pid(), seconds);
  if (wanted("stored")) stored_table(folder, stored);
  std::cout << fmt::format("memory at most: ours {:.0f} MiB", most_memory(program.pid()));
  if (redis) std::cout << fmt::format(", Redis {:.0f} MiB", most_memory(redis->pid()));
  std::cout << '\n';
  return 0;
}
