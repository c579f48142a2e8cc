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

/// The median of each party's figures over the rounds; the parties take turns, so that what
/// disturbs one round disturbs all.
template <class Figures, class Measure>
std::vector<Figures> medians(const std::vector<Party>& parties, int rounds, Measure&& measure) {
  constexpr std::size_t count = std::tuple_size_v<Figures>;
  std::vector<std::array<std::vector<double>, count>> all(parties.size());
  for (int round = 0; round < rounds; ++round) {
    for (std::size_t p = 0; p < parties.size(); ++p) {
      const Figures figures = measure(parties[p]);
      for (std::size_t i = 0; i < count; ++i) all[p][i].push_back(figures[i]);
    }
  }
  std::vector<Figures> answer(parties.size());
  for (std::size_t p = 0; p < parties.size(); ++p) {
    for (std::size_t i = 0; i < count; ++i) answer[p][i] = median(all[p][i]);
  }
  return answer;
}

/// Where a party of this name stands, if it is there.
std::optional<std::size_t> place_of(const std::string& name, const std::vector<Party>& parties) {
  for (std::size_t p = 0; p < parties.size(); ++p) {
    if (parties[p].name == name) return p;
  }
  return std::nullopt;
}

/// What ours is of theirs in the same round: the median over the rounds, the least and the most.
std::string ratio_cell(const std::vector<double>& ours, const std::vector<double>& theirs) {
  std::vector<double> ratios;
  for (std::size_t round = 0; round < ours.size(); ++round)
    ratios.push_back(ours[round] / theirs[round]);
  const auto [least, most] = std::minmax_element(ratios.begin(), ratios.end());
  return fmt::format("{:.2f} ({:.2f} to {:.2f})", median(ratios), *least, *most);
}

/// What a server leaves for a pause, as ours its index, is to burden no other's turn.
constexpr std::chrono::milliseconds settling{200};

/// In each round the parties take several turns: a busy neighbour of the machine halves for
/// seconds what all of them can do, and would else fall upon one of them.
void acknowledged_table(const std::vector<Party>& parties, const std::vector<int>& posters,
                        int rounds, double seconds, int turns) {
  const auto redis = place_of("Redis", parties);
  std::string rates = head("acknowledged events/s", parties, {"WebSocket/Redis", "HTTP/Redis"});
  std::string tails = head("99th percentile of the acknowledgement, ms", parties,
                           {"WebSocket/Redis", "HTTP/Redis"});
  for (const int senders : posters) {
    std::vector<std::array<std::vector<double>, 2>> figures(parties.size());
    for (int round = 0; round < rounds; ++round) {
      std::vector<Acknowledged> got(parties.size());
      for (int turn = 0; turn < turns; ++turn) {
        for (std::size_t p = 0; p < parties.size(); ++p) {
          std::this_thread::sleep_for(settling);
          post(parties[p], senders, seconds / turns, got[p]);
        }
      }
      for (std::size_t p = 0; p < parties.size(); ++p) {
        figures[p][0].push_back(got[p].per_second());
        figures[p][1].push_back(percentile(std::move(got[p].times_ms), 0.99));
      }
    }
    for (const std::size_t which : {0u, 1u}) {
      std::vector<std::string> cells{fmt::format("{} posters", senders)};
      for (const auto& figure : figures)
        cells.push_back(cell(median(figure[which]), which == 0 ? 0 : 2));
      for (const char* name : {"WebSocket", "HTTP"}) {
        const auto ours = place_of(name, parties);
        cells.push_back(redis && ours ? ratio_cell(figures[*ours][which], figures[*redis][which])
                                      : "");
      }
      (which == 0 ? rates : tails) += row(cells);
    }
  }
  std::cout << rates << '\n' << tails << std::endl;
}

void delay_table(const std::vector<Party>& parties, int rounds, double seconds) {
  constexpr double per_second = 200;
  const auto redis = place_of("Redis", parties);
  std::cout << head("post to desk at 200 events/s, ms: median / 99th percentile", parties,
                    {"WebSocket/Redis"});
  for (const int desks : {1, 50}) {
    using Figures = std::array<double, 2>;
    const auto figures = medians<Figures>(parties, rounds, [&](const Party& party) {
      const Delay delay =
          post_to_desks(party, desks, static_cast<int>(per_second * seconds), per_second);
      return Figures{delay.median_ms, delay.p99_ms};
    });
    std::vector<std::string> cells{fmt::format("{} desks", desks)};
    for (const auto& [median_ms, p99_ms] : figures)
      cells.push_back(fmt::format("{:.2f} / {:.2f}", median_ms, p99_ms));
    if (const auto websocket = place_of("WebSocket", parties); redis && websocket) {
      const auto& ours = figures[*websocket];
      const auto& theirs = figures[*redis];
      cells.push_back(fmt::format("{:.2f} / {:.2f}", ours[0] / theirs[0], ours[1] / theirs[1]));
    }
    std::cout << row(cells) << std::flush;
  }
  std::cout << std::endl;
}

void flat_out_table(const std::vector<Party>& parties, int rounds, double seconds) {
  const auto redis = place_of("Redis", parties);
  std::cout << head("delivered events/s, 16 posters flat out", parties, {"WebSocket/Redis"});
  for (const int desks : {50, 200}) {
    using Figures = std::array<double, 1>;
    const auto figures = medians<Figures>(parties, rounds, [&](const Party& party) {
      return Figures{flat_out(party, 16, desks, seconds)};
    });
    std::vector<std::string> cells{fmt::format("{} desks", desks)};
    for (const auto& figure : figures) cells.push_back(cell(figure[0], 0));
    if (const auto websocket = place_of("WebSocket", parties); redis && websocket)
      cells.push_back(cell(figures[*websocket][0] / figures[*redis][0], 2));
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
  app.add_option("--seconds", seconds, "for each figure")->capture_default_str();
  app.add_option("--rounds", rounds, "the median of these is shown")->capture_default_str();
  app.add_option("--turns", turns, "of each server in a round of \"acknowledged\"")
      ->capture_default_str();
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

  if (wanted("acknowledged")) acknowledged_table(parties, posters, rounds, seconds, turns);
  if (wanted("delay")) delay_table(followed, rounds, seconds);
  if (wanted("flat-out")) flat_out_table(followed, rounds, seconds);
  if (wanted("slow-desks"))
    slow_desks(stonecall_over_websocket(program.port()), program.pid(), seconds);
  if (wanted("stored")) stored_table(folder, stored);
  std::cout << fmt::format("memory at most: ours {:.0f} MiB", most_memory(program.pid()));
  if (redis) std::cout << fmt::format(", Redis {:.0f} MiB", most_memory(redis->pid()));
  std::cout << '\n';
  return 0;
}
