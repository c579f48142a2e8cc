#include "tests/benchmarks/load/connection.hpp"

#include <array>
#include <cerrno>
#include <stdexcept>
#include <system_error>

#include <arpa/inet.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

namespace stonecall::benchmarks {

namespace {
[[noreturn]] void fail(const char* what) {
  throw std::system_error(errno, std::generic_category(), what);
}
}  // namespace

Connection::Connection(std::uint16_t port) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
  if (socket_ < 0) fail("socket");
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    const int error = errno;
    ::close(socket_);
    errno = error;
    fail("connect");
  }
  const int on = 1;
  ::setsockopt(socket_, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
}

Connection::~Connection() {
  ::close(socket_);
}

void Connection::write(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t count = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (count < 0) fail("send");
    bytes.remove_prefix(static_cast<std::size_t>(count));
  }
}

bool Connection::read(std::string& received) {
  return read(received, 0);
}
bool Connection::read_what_came(std::string& received) {
  return read(received, MSG_DONTWAIT);
}

bool Connection::read(std::string& received, int flags) {
  std::array<char, 256 * 1024> bytes;
  const ssize_t count = ::recv(socket_, bytes.data(), bytes.size(), flags);
  if (count < 0) {
    if (errno == EAGAIN || errno == EWOULDBLOCK) return true;
    fail("recv");
  }
  received.append(bytes.data(), static_cast<std::size_t>(count));
  return count > 0;
}

}  // namespace stonecall::benchmarks
