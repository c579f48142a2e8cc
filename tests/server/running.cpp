#include "tests/server/running.hpp"

#include <csignal>
#include <sstream>
#include <stdexcept>

#include <boost/beast/core/buffers_to_string.hpp>
#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "protocol/log.hpp"

namespace stonecall::server::tests {
namespace {

Tcp::endpoint loopback(std::uint16_t port) {
  return {boost::asio::ip::address_v4::loopback(), port};
}

}  // namespace

Running::Running(ServerOptions options) {
  options.store = folder / "store";
  auto started = Server::start(std::move(options));
  if (!started) throw std::runtime_error(started.error());
  server = std::move(*started);
}

Http::Http(std::uint16_t port) : socket_(io_) {
  socket_.connect(loopback(port));
  socket_.set_option(Tcp::no_delay(true));
}

HttpAnswer Http::send(http::verb method, const std::string& target, const std::string& body,
                      const std::string& type,
                      const std::vector<std::pair<std::string, std::string>>& fields) {
  http::request<http::string_body> request{method, target, 11};
  request.set(http::field::host, "127.0.0.1");
  if (!body.empty()) {
    request.set(http::field::content_type, type);
    request.body() = body;
  }
  for (const auto& [name, value] : fields) request.set(name, value);
  request.prepare_payload();
  http::write(socket_, request);
  http::response_parser<http::string_body> parser;
  parser.body_limit(boost::none);
  if (method == http::verb::head) parser.skip(true);
  http::read(socket_, buffer_, parser);
  return parser.release();
}

Live::Live(std::uint16_t port, std::optional<Sequence> after, const std::string& token)
    : stream_(io_) {
  stream_.next_layer().connect(loopback(port));
  stream_.next_layer().set_option(Tcp::no_delay(true));
  stream_.set_option(websocket::stream_base::decorator([&](websocket::request_type& request) {
    request.set(http::field::sec_websocket_protocol, "stonecall.v1");
    if (!token.empty()) request.set(http::field::authorization, "Bearer " + token);
  }));
  stream_.read_message_max(64 * 1024 * 1024);
  stream_.text(true);
  stream_.handshake("127.0.0.1:" + std::to_string(port),
                    after ? "/live?after=" + std::to_string(*after) : "/live");
}

Json Live::read() {
  buffer_.consume(buffer_.size());
  stream_.read(buffer_);
  return Json::parse(boost::beast::buffers_to_string(buffer_.cdata()));
}

Json Live::read(const std::string& type) {
  for (;;) {
    Json message = read();
    if (message.at("type") == type) return message;
  }
}

void Live::write(const std::string& text) {
  stream_.write(boost::asio::buffer(text));
}

std::vector<protocol::Event> Live::events(std::size_t count) {
  std::vector<protocol::Event> events;
  while (events.size() < count) {
    // Named: a range-for does not keep the message alive behind a reference into it.
    const Json message = read("event");
    for (const Json& json : message.at("events"))
      events.push_back(protocol::event_from_json(json).value());
  }
  return events;
}

Json Live::post(const std::string& body) {
  write(body);
  return read("results");
}

Program::Program(const std::string& arguments, const std::string& before, const std::string& file) {
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  const std::string command = before + " " + file + " --listen 127.0.0.1:0 " + arguments;
  pid_ = ::fork();
  if (pid_ == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    const int nowhere = ::open("/dev/null", O_WRONLY);
    ::dup2(nowhere, STDERR_FILENO);
    ::execl("/bin/sh", "sh", "-c", command.c_str(), nullptr);
    ::_exit(127);
  }
  ::close(ends[1]);
  out_ = ends[0];
  std::string line;
  for (char c = 0; ::read(out_, &c, 1) == 1 && c != '\n';) line += c;
  const std::size_t colon = line.rfind(':');
  if (colon != std::string::npos)
    port_ = static_cast<std::uint16_t>(std::stoi(line.substr(colon + 1)));
}

Program::~Program() {
  if (pid_ > 0) {
    signal(SIGKILL);
    wait();
  }
  ::close(out_);
}

void Program::signal(int number) {
  ::kill(pid_, number);
}

void Program::let_files_grow() {
  rlimit size{};
  ::prlimit(pid_, RLIMIT_FSIZE, nullptr, &size);
  size.rlim_cur = size.rlim_max;
  ::prlimit(pid_, RLIMIT_FSIZE, &size, nullptr);
}

int Program::wait() {
  int status = 0;
  if (pid_ > 0) ::waitpid(pid_, &status, 0);
  pid_ = -1;
  return WIFSIGNALED(status) ? 128 + WTERMSIG(status) : WEXITSTATUS(status);
}

std::string lines_of(const std::vector<protocol::Event>& events) {
  std::string lines;
  for (const auto& event : events) lines += protocol::to_line(event) + "\n";
  return lines;
}

std::vector<protocol::Event> events_at(std::uint16_t port, Sequence after) {
  std::istringstream body(Http(port).get("/events?after=" + std::to_string(after)).body());
  const protocol::Log log = protocol::read_log(body);
  if (!log.faults.empty()) throw std::runtime_error(protocol::to_string(log.faults.front()));
  std::vector<protocol::Event> events;
  for (const auto& event : log.events) events.push_back(*event);
  return events;
}

}  // namespace stonecall::server::tests
