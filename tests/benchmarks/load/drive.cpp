#include "tests/benchmarks/load/drive.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <functional>
#include <stdexcept>
#include <utility>

#include <sys/epoll.h>
#include <unistd.h>

#include "protocol/event.hpp"
#include "tests/server/exercise.hpp"

namespace stonecall::benchmarks {
namespace {

using Steady = std::chrono::steady_clock;

double milliseconds_since(Steady::time_point begin) {
  return std::chrono::duration<double, std::milli>(Steady::now() - begin).count();
}

Steady::time_point after(Steady::time_point begin, double seconds) {
  return begin +
         std::chrono::duration_cast<Steady::duration>(std::chrono::duration<double>(seconds));
}

/// Calls back for sockets that have become readable.
class Readable {
 public:
  Readable() : epoll_(::epoll_create1(0)) {}
  ~Readable() { ::close(epoll_); }
  Readable(const Readable&) = delete;
  Readable& operator=(const Readable&) = delete;

  void add(const Connection& connection, std::function<void()> use) {
    epoll_event event{};
    event.events = EPOLLIN;
    event.data.u64 = uses_.size();
    uses_.push_back(std::move(use));
    if (::epoll_ctl(epoll_, EPOLL_CTL_ADD, connection.socket(), &event) != 0)
      throw std::runtime_error("epoll_ctl");
  }

  void wait(std::chrono::milliseconds longest) {
    std::array<epoll_event, 128> events;
    const int count = ::epoll_wait(epoll_, events.data(), static_cast<int>(events.size()),
                                   static_cast<int>(longest.count()));
    for (int i = 0; i < count; ++i)
      uses_[static_cast<std::size_t>(events[static_cast<std::size_t>(i)].data.u64)]();
  }

 private:
  int epoll_;
  std::vector<std::function<void()>> uses_;
};

constexpr std::chrono::milliseconds patience{30'000};

/// Connections that each have one event under way.
class Senders {
 public:
  Senders(const Party& party, int count, Readable& readable) {
    for (int i = 0; i < count; ++i) {
      senders_.push_back(party.sender());
      readable.add(*senders_.back().connection,
                   [this, at = static_cast<std::size_t>(i)] { take(at); });
    }
    received_.resize(senders_.size());
    sent_.resize(senders_.size());
  }

  void send(std::size_t i) {
    const std::string request = senders_[i].request(events_.next());
    sent_[i] = Steady::now();
    senders_[i].connection->write(request);
    ++under_way_;
  }

  /// Each sends, and again when it is answered, until the end.
  void send_until(Steady::time_point end) {
    end_ = end;
    for (std::size_t i = 0; i < senders_.size(); ++i) send(i);
  }

  std::size_t under_way() const { return under_way_; }
  std::size_t acknowledged() const { return times_.size(); }
  const std::vector<double>& times() const { return times_; }

 private:
  void take(std::size_t i) {
    if (!senders_[i].connection->read_what_came(received_[i]))
      throw std::runtime_error("a sender was cut off");
    const std::size_t bytes = senders_[i].acknowledged(received_[i]);
    if (bytes == 0) return;
    received_[i].erase(0, bytes);
    times_.push_back(milliseconds_since(sent_[i]));
    --under_way_;
    if (Steady::now() < end_) send(i);
  }

  std::vector<Sender> senders_;
  std::vector<std::string> received_;
  std::vector<Steady::time_point> sent_;
  std::vector<double> times_;
  Events events_;
  std::size_t under_way_ = 0;
  Steady::time_point end_;
};

/// Desks, and how many events each has got.
class Desks {
 public:
  using Came = std::function<void(std::size_t desk, std::size_t events)>;

  Desks(const Party& party, int count, Readable& readable, Came came) : came_(std::move(came)) {
    for (int i = 0; i < count; ++i) {
      desks_.push_back(party.follower());
      readable.add(*desks_.back().connection,
                   [this, at = static_cast<std::size_t>(i)] { take(at); });
    }
    received_.resize(desks_.size());
    got_.resize(desks_.size());
  }

  bool all_have(std::size_t events) const {
    return std::all_of(got_.begin(), got_.end(), [=](std::size_t got) { return got >= events; });
  }

 private:
  void take(std::size_t i) {
    if (!desks_[i].connection->read_what_came(received_[i]))
      throw std::runtime_error("a desk was cut off");
    const std::size_t events = desks_[i].events(received_[i]);
    if (events == 0) return;
    got_[i] += events;
    came_(i, events);
  }

  Came came_;
  std::vector<Follower> desks_;
  std::vector<std::string> received_;
  std::vector<std::size_t> got_;
};

}  // namespace

Events::Events() : state_(static_cast<std::uint64_t>(Steady::now().time_since_epoch().count())) {
  const protocol::Event event =
      server::tests::note("Vesicular basalt, two fists across, half sunk in the ash");
  text_ = protocol::to_line(event);
  while (!text_.empty() && text_.back() == '\n') text_.pop_back();
  id_ = text_.find(protocol::to_string(event.id));
}

const std::string& Events::next() {
  // splitmix64 (Steele, Lea and Flood 2014): as random as ids need, at next to no cost.
  constexpr std::string_view digits = "0123456789abcdef";
  std::uint64_t bits = 0;
  int left = 0;
  for (std::size_t i = 0; i < 36; ++i) {
    if (i == 8 || i == 13 || i == 14 || i == 18 || i == 19 || i == 23) continue;  // dashes, version
    if (left == 0) {
      state_ += 0x9E3779B97F4A7C15;
      bits = state_;
      bits = (bits ^ (bits >> 30)) * 0xBF58476D1CE4E5B9;
      bits = (bits ^ (bits >> 27)) * 0x94D049BB133111EB;
      bits ^= bits >> 31;
      left = 16;
    }
    text_[id_ + i] = digits[bits & 15];
    bits >>= 4;
    --left;
  }
  return text_;
}

void post(const Party& party, int senders, double seconds, Acknowledged& so_far) {
  Readable readable;
  Senders all(party, senders, readable);
  const auto begin = Steady::now();
  const auto end = after(begin, seconds);
  all.send_until(end);
  while (all.under_way() > 0) {
    readable.wait(patience);
    if (Steady::now() > end + patience) throw std::runtime_error("an event was not acknowledged");
  }
  so_far.seconds += milliseconds_since(begin) / 1000;
  so_far.times_ms.insert(so_far.times_ms.end(), all.times().begin(), all.times().end());
}

void post_to_desks(const Party& party, int desks, int events, double per_second,
                   std::vector<double>& so_far) {
  using std::chrono::milliseconds;
  std::vector<Steady::time_point> sent;
  std::vector<std::size_t> next(static_cast<std::size_t>(desks));
  Readable readable;
  const Desks following(party, desks, readable, [&](std::size_t desk, std::size_t count) {
    for (; count > 0; --count) so_far.push_back(milliseconds_since(sent.at(next[desk]++)));
  });
  Senders sender(party, 1, readable);
  const auto begin = Steady::now();
  const auto all = static_cast<std::size_t>(events);
  const auto give_up = after(begin, static_cast<double>(all) / per_second) + patience;
  while (!following.all_have(all)) {
    milliseconds wait(100);
    if (sent.size() < all && sender.under_way() == 0) {
      const auto due = after(begin, static_cast<double>(sent.size()) / per_second);
      wait = std::chrono::duration_cast<milliseconds>(due - Steady::now());
      if (Steady::now() >= due) {
        sent.push_back(Steady::now());
        sender.send(0);
      }
    }
    readable.wait(std::max(wait, milliseconds(0)));
    if (Steady::now() > give_up) throw std::runtime_error("an event was not delivered");
  }
}

double flat_out(const Party& party, int senders, int desks, double seconds) {
  std::size_t got = 0;
  Readable readable;
  const Desks following(party, desks, readable,
                        [&](std::size_t, std::size_t count) { got += count; });
  Senders all(party, senders, readable);
  const auto begin = Steady::now();
  const auto end = after(begin, seconds);
  all.send_until(end);
  while (all.under_way() > 0 || !following.all_have(all.acknowledged())) {
    readable.wait(std::chrono::milliseconds(100));
    if (Steady::now() > end + patience) throw std::runtime_error("an event was not delivered");
  }
  return static_cast<double>(got) / (milliseconds_since(begin) / 1000);
}

double catch_up(Follower follower, std::size_t events) {
  const auto begin = Steady::now();
  std::string received;
  std::size_t got = 0;
  while (got < events) {
    if (!follower.connection->read(received)) throw std::runtime_error("a desk was cut off");
    got += follower.events(received);
  }
  return milliseconds_since(begin) / 1000;
}

double percentile(std::vector<double> values, double part) {
  if (values.empty()) throw std::runtime_error("nothing was acknowledged");
  const auto at = static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

}  // namespace stonecall::benchmarks
