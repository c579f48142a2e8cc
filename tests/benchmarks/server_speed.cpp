// How many events a second the server acknowledges, and how long an event takes from a sender to
// the desks. Where Redis is installed its streams (XADD with appendfsync always, XREAD BLOCK) do
// the same work in the same run, and the figures are ratios to it. Every event is checked to be
// acknowledged and delivered.
//
// Usage: server_speed [--seconds S] [--rounds R]

#include <algorithm>
#include <atomic>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <iostream>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include <CLI/CLI.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/streambuf.hpp>
#include <boost/asio/write.hpp>
#include <spdlog/fmt/fmt.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"

namespace {

using namespace stonecall;
using namespace stonecall::server;
using namespace stonecall::server::tests;
using Steady = std::chrono::steady_clock;
using Seconds = std::chrono::duration<double>;

std::string event_text(int i) {
  return protocol::to_line(note("Vesicular basalt, number " + std::to_string(i)));
}

/// One connection that posts an event and waits for its acknowledgement.
using Post = std::function<void(const std::string& event)>;
using Connect = std::function<Post()>;

/// A Redis connection: requests as arrays of bulk strings (RESP2), answers read as far as needed
/// here.
class Redis {
 public:
  explicit Redis(std::uint16_t port) : socket_(io_) {
    socket_.connect({boost::asio::ip::address_v4::loopback(), port});
    socket_.set_option(Tcp::no_delay(true));
  }

  void send(const std::vector<std::string>& words) {
    std::string text = "*" + std::to_string(words.size()) + "\r\n";
    for (const auto& word : words)
      text += "$" + std::to_string(word.size()) + "\r\n" + word + "\r\n";
    boost::asio::write(socket_, boost::asio::buffer(text));
  }

  /// One answer; bulk strings and arrays are flattened to their strings.
  std::vector<std::string> answer() {
    std::vector<std::string> strings;
    read_value(strings);
    return strings;
  }

 private:
  std::string line() {
    const std::size_t length = boost::asio::read_until(socket_, buffer_, "\r\n");
    std::string text(static_cast<const char*>(buffer_.data().data()), length - 2);
    buffer_.consume(length);
    return text;
  }

  void read_value(std::vector<std::string>& strings) {
    const std::string head = line();
    if (head.front() == '-') throw std::runtime_error("redis: " + head);
    if (head.front() == '$') {
      const auto length = static_cast<std::size_t>(std::stoul(head.substr(1)));
      if (buffer_.size() < length + 2) {
        boost::asio::read(socket_, buffer_,
                          boost::asio::transfer_at_least(length + 2 - buffer_.size()));
      }
      strings.emplace_back(static_cast<const char*>(buffer_.data().data()), length);
      buffer_.consume(length + 2);
    } else if (head.front() == '*') {
      for (int i = std::stoi(head.substr(1)); i > 0; --i) read_value(strings);
    } else {
      strings.push_back(head.substr(1));
    }
  }

  boost::asio::io_context io_;
  Tcp::socket socket_;
  boost::asio::streambuf buffer_;
};

/// A redis-server of its own, with its files beside our store.
class RedisServer {
 public:
  explicit RedisServer(const Folder& folder) {
    port_ = 20'000 + static_cast<std::uint16_t>(::getpid() % 20'000);
    pid_ = ::fork();
    if (pid_ == 0) {
      const std::string port = std::to_string(port_);
      if (!std::freopen("/dev/null", "w", stdout)) ::_exit(1);
      ::execlp("redis-server", "redis-server", "--port", port.c_str(), "--dir",
               folder.path().c_str(), "--appendonly", "yes", "--appendfsync", "always", "--save",
               "", nullptr);
      ::_exit(127);
    }
    for (int i = 0; i < 100; ++i) {
      try {
        Redis(port_).send({"PING"});
        return;
      } catch (const boost::system::system_error&) {
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
      }
    }
    throw std::runtime_error("redis-server did not start");
  }
  ~RedisServer() {
    ::kill(pid_, SIGKILL);
    ::waitpid(pid_, nullptr, 0);
  }
  std::uint16_t port() const { return port_; }

 private:
  int pid_ = -1;
  std::uint16_t port_ = 0;
};

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

double percentile(std::vector<double>& values, double part) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(part * static_cast<double>(values.size() - 1))];
}

struct Throughput {
  double per_second = 0;
  double p99_ms = 0;
};

Throughput acknowledged(int posters, double seconds, const Connect& connect) {
  std::vector<std::thread> threads;
  std::vector<std::vector<double>> times(static_cast<std::size_t>(posters));
  std::vector<Post> posts;
  for (int p = 0; p < posters; ++p) posts.push_back(connect());
  const auto begin = Steady::now();
  const auto end = begin + std::chrono::duration_cast<Steady::duration>(Seconds(seconds));
  for (std::size_t p = 0; p < posts.size(); ++p) {
    threads.emplace_back([&, p] {
      for (int i = 0; Steady::now() < end; ++i) {
        const std::string event = event_text(i);
        const auto sent = Steady::now();
        posts[p](event);
        times[p].push_back(std::chrono::duration<double, std::milli>(Steady::now() - sent).count());
      }
    });
  }
  for (auto& thread : threads) thread.join();
  const Seconds took = Steady::now() - begin;
  std::vector<double> all;
  for (const auto& list : times) all.insert(all.end(), list.begin(), list.end());
  return {static_cast<double>(all.size()) / took.count(), percentile(all, 0.99)};
}

struct Delay {
  double median_ms = 0;
  double p99_ms = 0;
};

/// Desks that follow, each in its thread, noting when each event came.
using Follow =
    std::function<void(int events, std::vector<Steady::time_point>& came, std::atomic<int>& ready)>;

Delay post_to_desk(int desks, int events, double per_second, const Post& post,
                   const Follow& follow) {
  std::vector<std::vector<Steady::time_point>> came(static_cast<std::size_t>(desks));
  std::vector<std::thread> threads;
  std::atomic<int> ready = 0;
  for (auto& list : came) threads.emplace_back([&] { follow(events, list, ready); });
  for (int so_far = 0; (so_far = ready) < desks;) ready.wait(so_far);
  std::vector<Steady::time_point> sent;
  const auto begin = Steady::now();
  for (int i = 0; i < events; ++i) {
    std::this_thread::sleep_until(
        begin + std::chrono::duration_cast<Steady::duration>(Seconds(i / per_second)));
    sent.push_back(Steady::now());
    post(event_text(i));
  }
  for (auto& thread : threads) thread.join();
  std::vector<double> delays;
  for (const auto& list : came) {
    if (list.size() != sent.size()) throw std::runtime_error("an event was not delivered");
    for (std::size_t i = 0; i < sent.size(); ++i) {
      delays.push_back(std::chrono::duration<double, std::milli>(list[i] - sent[i]).count());
    }
  }
  return {percentile(delays, 0.5), percentile(delays, 0.99)};
}

}  // namespace

int main(int argc, char** argv) {
  double seconds = 2;
  int rounds = 5;
  CLI::App app{"Measures the server, beside Redis where it is installed."};
  app.add_option("--seconds", seconds, "for each figure")->capture_default_str();
  app.add_option("--rounds", rounds, "the median of these is shown")->capture_default_str();
  CLI11_PARSE(app, argc, argv);

  const Folder folder;
  const Program program("--store " + (folder / "store").string() + " --rate 0");
  const std::uint16_t port = program.port();
  std::unique_ptr<RedisServer> redis;
  if (std::system("command -v redis-server > /dev/null") == 0)
    redis = std::make_unique<RedisServer>(folder);
  else
    std::cout << "redis-server is not installed: its columns are left out\n";

  const Connect over_websocket = [&]() -> Post {
    return [live = std::make_shared<Live>(port)](const std::string& event) {
      if (!live->post(event).at("results").at(0).contains("seq"))
        throw std::runtime_error("not acknowledged");
    };
  };
  const Connect over_http = [&]() -> Post {
    return [http = std::make_shared<Http>(port)](const std::string& event) {
      if (http->post(event).result_int() != 200) throw std::runtime_error("not acknowledged");
    };
  };
  const Connect over_redis = [&]() -> Post {
    return [connection = std::make_shared<Redis>(redis->port())](const std::string& event) {
      connection->send({"XADD", "events", "*", "event", event});
      connection->answer();
    };
  };

  std::cout << "| acknowledged events/s | Redis | WebSocket | HTTP | WebSocket/Redis | HTTP/Redis "
               "| p99 WebSocket/Redis |\n"
               "|---|---|---|---|---|---|---|\n";
  for (const int posters : {1, 16, 64}) {
    std::vector<double> rates[3];
    std::vector<double> tails[3];
    for (int round = 0; round < rounds; ++round) {
      const Connect* ways[] = {redis ? &over_redis : nullptr, &over_websocket, &over_http};
      for (int way = 0; way < 3; ++way) {
        if (!ways[way]) continue;
        const Throughput got = acknowledged(posters, seconds, *ways[way]);
        rates[way].push_back(got.per_second);
        tails[way].push_back(got.p99_ms);
      }
    }
    const double websocket = median(rates[1]);
    const double http = median(rates[2]);
    if (redis) {
      const double other = median(rates[0]);
      std::cout << fmt::format(
          "| {} posters | {:.0f} | {:.0f} | {:.0f} | {:.2f} | {:.2f} | {:.2f} |\n", posters, other,
          websocket, http, websocket / other, http / other, median(tails[1]) / median(tails[0]));
    } else {
      std::cout << fmt::format("| {} posters | | {:.0f} | {:.0f} | | | |\n", posters, websocket,
                               http);
    }
  }

  const Follow follow_ours = [&](int events, std::vector<Steady::time_point>& came,
                                 std::atomic<int>& ready) {
    const Sequence newest =
        Json::parse(Http(port).get("/health").body()).at("newest").get<Sequence>();
    Live desk(port, newest);
    desk.read("caught_up");
    ++ready;
    ready.notify_all();
    while (static_cast<int>(came.size()) < events) {
      const std::size_t count = desk.read("event").at("events").size();
      came.insert(came.end(), count, Steady::now());
    }
  };
  const Follow follow_redis = [&](int events, std::vector<Steady::time_point>& came,
                                  std::atomic<int>& ready) {
    Redis desk(redis->port());
    desk.send({"XREVRANGE", "events", "+", "-", "COUNT", "1"});
    std::string last = desk.answer().at(0);
    ++ready;
    ready.notify_all();
    while (static_cast<int>(came.size()) < events) {
      desk.send({"XREAD", "COUNT", "1000", "BLOCK", "0", "STREAMS", "events", last});
      // stream name, then for each entry: its id, "event", the text
      const auto strings = desk.answer();
      for (std::size_t i = 1; i + 2 < strings.size(); i += 3) {
        last = strings[i];
        came.push_back(Steady::now());
      }
    }
  };
  constexpr double per_second = 200;
  const int events = static_cast<int>(per_second * seconds);
  std::cout << "\n| post to desk, 200 events/s, ms | Redis median | Redis p99 | ours median | ours "
               "p99 | median ratio | p99 "
               "ratio |\n|---|---|---|---|---|---|---|\n";
  for (const int desks : {1, 50}) {
    std::vector<double> medians[2];
    std::vector<double> tails[2];
    for (int round = 0; round < rounds; ++round) {
      if (redis) {
        const Delay delay = post_to_desk(desks, events, per_second, over_redis(), follow_redis);
        medians[0].push_back(delay.median_ms);
        tails[0].push_back(delay.p99_ms);
      }
      const Delay delay = post_to_desk(desks, events, per_second, over_websocket(), follow_ours);
      medians[1].push_back(delay.median_ms);
      tails[1].push_back(delay.p99_ms);
    }
    const double ours = median(medians[1]);
    const double tail = median(tails[1]);
    if (redis) {
      std::cout << fmt::format(
          "| {} desks | {:.2f} | {:.2f} | {:.2f} | {:.2f} | {:.2f} | {:.2f} |\n", desks,
          median(medians[0]), median(tails[0]), ours, tail, ours / median(medians[0]),
          tail / median(tails[0]));
    } else {
      std::cout << fmt::format("| {} desks | | | {:.2f} | {:.2f} | | |\n", desks, ours, tail);
    }
  }
  return 0;
}
