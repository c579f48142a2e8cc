#include "tests/benchmarks/load/parties.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <system_error>
#include <thread>
#include <utility>

#include <arpa/inet.h>
#include <fcntl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/benchmarks/load/drive.hpp"

namespace stonecall::benchmarks {
namespace {

std::size_t number_at(std::string_view text, std::size_t at) {
  std::size_t number = 0;
  std::from_chars(text.data() + at, text.data() + text.size(), number);
  return number;
}

std::size_t count_of(std::string_view what, std::string_view text) {
  std::size_t count = 0;
  // memmem: std::string_view::find stops at each quotation mark of a JSON text.
  while (const void* at = ::memmem(text.data(), text.size(), what.data(), what.size())) {
    text.remove_prefix(static_cast<std::size_t>(static_cast<const char*>(at) - text.data()) +
                       what.size());
    ++count;
  }
  return count;
}

void must_hold(std::string_view answer, std::string_view what) {
  if (answer.find(what) == std::string_view::npos)
    throw std::runtime_error("not acknowledged: " + std::string(answer.substr(0, 300)));
}

/// Reads until `enough` says how many bytes the first whole answer has, and takes that off.
template <class Enough>
std::string ask(Connection& connection, std::string_view request, Enough&& enough) {
  connection.write(request);
  std::string received;
  std::size_t bytes = 0;
  while ((bytes = enough(received)) == 0) {
    if (!connection.read(received)) throw std::runtime_error("cut off while greeting");
  }
  return received;
}

// RFC 6455

std::size_t header_end(std::string_view text) {
  const std::size_t end = text.find("\r\n\r\n");
  return end == std::string_view::npos ? 0 : end + 4;
}

struct Frame {
  std::size_t bytes = 0;  ///< with its header; 0 while it is not whole
  std::string_view text;
};

Frame frame_in(std::string_view received) {
  const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(received[at]); };
  if (received.size() < 2) return {};
  std::size_t header = 2;
  std::size_t length = byte(1) & 127;
  const std::size_t more = length == 126 ? 2 : length == 127 ? 8 : 0;
  if (received.size() < header + more) return {};
  if (more > 0) length = 0;
  for (std::size_t i = 0; i < more; ++i) length = length << 8 | byte(header + i);
  header += more;
  if (received.size() < header + length) return {};
  return {header + length, received.substr(header, length)};
}

/// A masked text frame; the key is zero, which is a key as good as another and costs nothing.
std::string framed(std::string_view text) {
  std::string frame = "\x81";
  if (text.size() < 126) {
    frame += static_cast<char>(128 | text.size());
  } else {
    frame += static_cast<char>(128 | 126);
    frame += static_cast<char>(text.size() >> 8);
    frame += static_cast<char>(text.size() & 255);
  }
  frame.append(4, '\0');
  return frame.append(text);
}

std::unique_ptr<Connection> live(std::uint16_t port, const std::string& target,
                                 std::string& received) {
  auto connection = std::make_unique<Connection>(port);
  const std::string request =
      "GET " + target + " HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port) +
      "\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
      "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n"
      "Sec-WebSocket-Protocol: stonecall.v1\r\n\r\n";
  received = ask(*connection, request, header_end);
  must_hold(received, " 101 ");
  received.erase(0, header_end(received));
  return connection;
}

/// Takes whole frames off the front.
template <class Use>
void take_frames(std::string& received, Use&& use) {
  std::size_t taken = 0;
  for (Frame frame; (frame = frame_in(std::string_view(received).substr(taken))).bytes > 0;
       taken += frame.bytes)
    use(frame.text);
  received.erase(0, taken);
}

// RESP2, the protocol of Redis

std::string words(const std::vector<std::string_view>& list) {
  std::string text = "*" + std::to_string(list.size()) + "\r\n";
  for (const auto word : list)
    text.append("$").append(std::to_string(word.size())).append("\r\n").append(word).append("\r\n");
  return text;
}

/// Bytes of the value that the text begins with, 0 while it is not whole. The bulk strings in it
/// are told to `use`.
template <class Use>
std::size_t value_in(std::string_view text, Use&& use) {
  const std::size_t end = text.find("\r\n");
  if (end == std::string_view::npos) return 0;
  const std::size_t head = end + 2;
  if (text[0] == '-') throw std::runtime_error("redis: " + std::string(text.substr(0, end)));
  if (text[0] == '$') {
    const std::size_t length = number_at(text, 1);
    if (text.size() < head + length + 2) return 0;
    use(text.substr(head, length));
    return head + length + 2;
  }
  if (text[0] != '*') return head;
  std::size_t at = head;
  for (std::size_t i = number_at(text, 1); i > 0; --i) {
    const std::size_t bytes = value_in(text.substr(at), use);
    if (bytes == 0) return 0;
    at += bytes;
  }
  return at;
}

std::size_t value_in(std::string_view text) {
  return value_in(text, [](std::string_view) {});
}

Follower redis_follower(std::uint16_t port, std::string last) {
  Follower follower;
  follower.connection = std::make_unique<Connection>(port);
  const auto ask_more = [&connection = *follower.connection](const std::string& after) {
    connection.write(words({"XREAD", "COUNT", "1000", "BLOCK", "0", "STREAMS", "events", after}));
  };
  ask_more(last);
  follower.events = [ask_more, last](std::string& received) mutable {
    std::size_t events = 0;
    // The stream's name, then of each entry its id, "event" and the text.
    std::size_t nth = 0;
    std::string newest;
    const std::size_t bytes = value_in(received, [&](std::string_view text) {
      if (nth > 0 && (nth - 1) % 3 == 0) {
        newest = text;
        ++events;
      }
      ++nth;
    });
    if (bytes == 0) return std::size_t{0};
    received.erase(0, bytes);
    last = newest;
    ask_more(last);
    return events;
  };
  return follower;
}

// MQTT 3.1.1, 2.2 and 3

std::string packet(char type, std::string_view body) {
  std::string text(1, type);
  std::size_t length = body.size();
  do {
    const auto digit = static_cast<unsigned char>(length & 127);
    length >>= 7;
    text += static_cast<char>(length > 0 ? digit | 128 : digit);
  } while (length > 0);
  return text.append(body);
}

std::string with_length(std::string_view text) {
  std::string out;
  out += static_cast<char>(text.size() >> 8);
  out += static_cast<char>(text.size() & 255);
  return out.append(text);
}

struct Packet {
  std::size_t bytes = 0;
  std::string_view body;
};

Packet packet_in(std::string_view received) {
  std::size_t length = 0;
  for (std::size_t i = 1; i < received.size() && i < 5; ++i) {
    const auto byte = static_cast<unsigned char>(received[i]);
    length |= static_cast<std::size_t>(byte & 127) << (7 * (i - 1));
    if (byte < 128) {
      if (received.size() < i + 1 + length) return {};
      return {i + 1 + length, received.substr(i + 1, length)};
    }
  }
  return {};
}

std::unique_ptr<Connection> mqtt(std::uint16_t port) {
  auto connection = std::make_unique<Connection>(port);
  const std::string hello =
      with_length("MQTT") + std::string("\x04\x02\x00\x00", 4) + with_length("");
  ask(*connection, packet(0x10, hello),
      [](std::string_view received) { return packet_in(received).bytes; });
  return connection;
}

// PostgreSQL's frontend/backend protocol 3.0

std::string big_endian(std::size_t number) {
  const std::uint32_t swapped = htonl(static_cast<std::uint32_t>(number));
  return {reinterpret_cast<const char*>(&swapped), sizeof swapped};
}

/// Bytes through ReadyForQuery, 0 while it has not come.
std::size_t through_ready(std::string_view received) {
  std::size_t at = 0;
  while (received.size() >= at + 5) {
    std::uint32_t length = 0;
    std::copy_n(received.data() + at + 1, sizeof length, reinterpret_cast<char*>(&length));
    const std::size_t end = at + 1 + ntohl(length);
    if (received.size() < end) return 0;
    if (received[at] == 'E')
      throw std::runtime_error("postgresql: " + std::string(received.substr(at, end - at)));
    if (received[at] == 'Z') return end;
    at = end;
  }
  return 0;
}

std::string query(std::string_view sql) {
  return "Q" + big_endian(sql.size() + 5) + std::string(sql) + '\0';
}

std::unique_ptr<Connection> postgresql_session(std::uint16_t port) {
  auto connection = std::make_unique<Connection>(port);
  const std::string hello =
      big_endian(196'608) + std::string("user\0postgres\0database\0postgres\0\0", 33);
  ask(*connection, big_endian(hello.size() + 4) + hello, through_ready);
  return connection;
}

bool installed(const std::string& program) {
  if (std::system(("command -v " + program + " > /dev/null").c_str()) == 0) return true;
  std::cout << program << " is not installed: its columns are left out\n";
  return false;
}

}  // namespace

Party stonecall_over_websocket(std::uint16_t port) {
  Party party;
  party.name = "WebSocket";
  party.sender = [port] {
    Sender sender;
    std::string rest;
    sender.connection = live(port, "/live", rest);
    sender.request = framed;
    sender.acknowledged = [](std::string_view received) {
      // Heartbeats come between.
      std::size_t at = 0;
      for (;;) {
        const Frame frame = frame_in(received.substr(at));
        if (frame.bytes == 0) return std::size_t{0};
        at += frame.bytes;
        if (frame.text.find("\"results\"") == std::string_view::npos) continue;
        must_hold(frame.text, "\"seq\":");
        return at;
      }
    };
    return sender;
  };
  party.follower = [port] {
    Connection asking(port);
    const std::string health = ask(
        asking, "GET /health HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n",
        [](std::string_view received) { return received.ends_with('}') ? received.size() : 0; });
    return stonecall_desk(port, number_at(health, health.find("\"newest\":") + 9));
  };
  return party;
}

Follower stonecall_desk(std::uint16_t port, std::uint64_t after) {
  Follower desk;
  std::string rest;
  desk.connection = live(port, "/live?after=" + std::to_string(after), rest);
  desk.events = [rest = std::move(rest)](std::string& received) mutable {
    if (!rest.empty()) received.insert(0, std::exchange(rest, {}));
    std::size_t events = 0;
    take_frames(received,
                [&](std::string_view text) { events += count_of("\"received\":", text); });
    return events;
  };
  return desk;
}

Party stonecall_over_http(std::uint16_t port) {
  Party party;
  party.name = "HTTP";
  party.sender = [port] {
    Sender sender;
    sender.connection = std::make_unique<Connection>(port);
    sender.request = [](std::string_view event) {
      return "POST /events HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
             "Content-Length: " +
             std::to_string(event.size()) + "\r\n\r\n" + std::string(event);
    };
    sender.acknowledged = [](std::string_view received) {
      const std::size_t head = header_end(received);
      if (head == 0) return head;
      const std::size_t length = received.find("Content-Length: ");
      const std::size_t bytes = head + number_at(received, length + 16);
      if (received.size() < bytes) return std::size_t{0};
      must_hold(received, "\"seq\":");
      return bytes;
    };
    return sender;
  };
  return party;
}

Party redis_streams(std::uint16_t port) {
  Party party;
  party.name = "Redis";
  party.sender = [port] {
    Sender sender;
    sender.connection = std::make_unique<Connection>(port);
    sender.request = [](std::string_view event) {
      return words({"XADD", "events", "*", "event", event});
    };
    sender.acknowledged = [](std::string_view received) { return value_in(received); };
    return sender;
  };
  party.follower = [port] {
    Connection asking(port);
    std::string newest = "0";
    ask(asking, words({"XREVRANGE", "events", "+", "-", "COUNT", "1"}),
        [&](std::string_view received) {
          return value_in(received, [&, first = true](std::string_view text) mutable {
            if (std::exchange(first, false)) newest = text;
          });
        });
    return redis_follower(port, newest);
  };
  return party;
}

void fill_redis(std::uint16_t port, std::size_t events) {
  Connection connection(port);
  Events texts;
  for (std::size_t done = 0; done < events;) {
    const std::size_t count = std::min<std::size_t>(1'000, events - done);
    std::string requests;
    for (std::size_t i = 0; i < count; ++i)
      requests += words({"XADD", "events", "*", "event", texts.next()});
    ask(connection, requests, [=](std::string_view received) {
      std::size_t at = 0;
      for (std::size_t i = 0; i < count; ++i) {
        const std::size_t bytes = value_in(received.substr(at));
        if (bytes == 0) return std::size_t{0};
        at += bytes;
      }
      return at;
    });
    done += count;
  }
}

Follower redis_desk_from_the_start(std::uint16_t port) {
  return redis_follower(port, "0");
}

Party mosquitto(std::uint16_t port) {
  Party party;
  party.name = "mosquitto";
  party.sender = [port] {
    Sender sender;
    sender.connection = mqtt(port);
    sender.request = [number = 0u](std::string_view event) mutable {
      number = number % 65'535 + 1;
      std::string body = with_length("events");
      body += static_cast<char>(number >> 8);
      body += static_cast<char>(number & 255);
      return packet(0x32, body.append(event));
    };
    sender.acknowledged = [](std::string_view received) { return packet_in(received).bytes; };
    return sender;
  };
  party.follower = [port] {
    Follower follower;
    follower.connection = mqtt(port);
    ask(*follower.connection, packet('\x82', std::string("\0\1", 2) + with_length("events") + '\1'),
        [](std::string_view received) { return packet_in(received).bytes; });
    follower.events = [&connection = *follower.connection](std::string& received) {
      std::size_t events = 0;
      std::size_t taken = 0;
      std::string answers;
      for (Packet one; (one = packet_in(std::string_view(received).substr(taken))).bytes > 0;
           taken += one.bytes) {
        const std::size_t topic = 2 + static_cast<unsigned char>(one.body[1]);
        answers += packet(0x40, one.body.substr(topic, 2));
        ++events;
      }
      received.erase(0, taken);
      connection.write(answers);
      return events;
    };
    return follower;
  };
  return party;
}

Party postgresql(std::uint16_t port) {
  Party party;
  party.name = "PostgreSQL";
  ask(*postgresql_session(port),
      query("CREATE TABLE IF NOT EXISTS events(seq bigserial PRIMARY KEY, id uuid UNIQUE, line "
            "text)"),
      through_ready);
  party.sender = [port] {
    Sender sender;
    sender.connection = postgresql_session(port);
    sender.request = [](std::string_view event) {
      const std::size_t id = event.find("\"id\":\"") + 6;
      std::string sql = "INSERT INTO events(id, line) VALUES('";
      sql.append(event.substr(id, 36)).append("','").append(event).append("') RETURNING seq");
      return query(sql);
    };
    sender.acknowledged = through_ready;
    return sender;
  };
  return party;
}

Other::Other(std::vector<std::string> list, std::uint16_t port) : port_(port) {
  std::vector<char*> arguments;
  for (auto& word : list) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  pid_ = ::fork();
  if (pid_ == 0) {
    const int nowhere = ::open("/dev/null", O_WRONLY);
    ::dup2(nowhere, STDOUT_FILENO);
    ::dup2(nowhere, STDERR_FILENO);
    ::execvp(arguments.front(), arguments.data());
    ::_exit(127);
  }
  for (int i = 0; i < 200; ++i) {
    try {
      const Connection there(port);
      return;
    } catch (const std::system_error&) {
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
  }
  throw std::runtime_error(list.front() + " did not start");
}

Other::~Other() {
  ::kill(pid_, SIGTERM);
  ::waitpid(pid_, nullptr, 0);
}

std::uint16_t free_port() {
  const int socket = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t length = sizeof address;
  ::bind(socket, reinterpret_cast<const sockaddr*>(&address), length);
  ::getsockname(socket, reinterpret_cast<sockaddr*>(&address), &length);
  ::close(socket);
  return ntohs(address.sin_port);
}

std::unique_ptr<Other> start_redis(const std::filesystem::path& folder) {
  if (!installed("redis-server")) return nullptr;
  const std::uint16_t port = free_port();
  return std::make_unique<Other>(
      std::vector<std::string>{"redis-server", "--port", std::to_string(port), "--dir",
                               folder.string(), "--appendonly", "yes", "--appendfsync", "always",
                               "--save", ""},
      port);
}

std::unique_ptr<Other> start_mosquitto(const std::filesystem::path& folder) {
  if (!installed("mosquitto")) return nullptr;
  const std::uint16_t port = free_port();
  const auto settings = folder / "mosquitto.conf";
  std::ofstream(settings) << "listener " << port << " 127.0.0.1\nallow_anonymous true\n"
                          << "set_tcp_nodelay true\nmax_inflight_messages 0\n"
                          << "max_queued_messages 0\nuser root\npersistence true\n"
                          << "persistence_location " << folder.string() << "/\n";
  return std::make_unique<Other>(std::vector<std::string>{"mosquitto", "-c", settings.string()},
                                 port);
}

std::unique_ptr<Other> start_postgresql(const std::filesystem::path& folder) {
  namespace fs = std::filesystem;
  fs::path programs;
  for (const auto& version :
       {"/usr/lib/postgresql/15/bin", "/usr/lib/postgresql/16/bin", "/usr/lib/postgresql/17/bin"}) {
    if (fs::exists(fs::path(version) / "postgres")) programs = version;
  }
  if (programs.empty()) {
    std::cout << "postgresql is not installed: its columns are left out\n";
    return nullptr;
  }
  const fs::path data = folder / "postgresql";
  fs::create_directory(data);
  // It will not run as root.
  std::vector<std::string> as_whom;
  if (::geteuid() == 0) {
    as_whom = {"runuser", "-u", "postgres", "--"};
    const std::string own = "chmod a+rx " + folder.string() + " && chown postgres " + data.string();
    if (std::system(own.c_str()) != 0) throw std::runtime_error("cannot give the folder away");
  }
  std::string before;
  for (const auto& word : as_whom) before += word + " ";
  const std::string init = "cd / && " + before + (programs / "initdb").string() +
                           " -A trust -U postgres -D " + data.string() + " > /dev/null 2>&1";
  if (std::system(init.c_str()) != 0) throw std::runtime_error("initdb failed");
  const std::uint16_t port = free_port();
  std::vector<std::string> list = as_whom;
  for (const std::string& word :
       {(programs / "postgres").string(), std::string("-D"), data.string(), std::string("-p"),
        std::to_string(port), std::string("-k"), data.string(), std::string("-c"),
        std::string("listen_addresses=127.0.0.1")})
    list.push_back(word);
  auto server = std::make_unique<Other>(list, port);
  for (int i = 0; i < 100; ++i) {
    try {
      postgresql_session(port);
      return server;
    } catch (const std::exception&) {  // "the database system is starting up"
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
  }
  throw std::runtime_error("postgresql did not start");
}

double most_memory(int pid) {
  std::ifstream status("/proc/" + std::to_string(pid) + "/status");
  for (std::string line; std::getline(status, line);) {
    if (line.starts_with("VmHWM:"))
      return static_cast<double>(number_at(line, line.find_first_of("0123456789"))) / 1024;
  }
  return 0;
}

}  // namespace stonecall::benchmarks
