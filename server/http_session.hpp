#pragma once

#include <memory>

#include <boost/asio/awaitable.hpp>

#include "server/context.hpp"
#include "server/stream.hpp"

namespace stonecall::server {

/// Serves one connection until it ends: HTTP requests one after the other, or, after an upgrade,
/// the live stream. Runs on the connection's strand.
boost::asio::awaitable<void> serve(Context& context, PlainStream stream,
                                   std::shared_ptr<Connection> connection);
/// After the TLS handshake.
boost::asio::awaitable<void> serve(Context& context, SecureStream stream,
                                   std::shared_ptr<Connection> connection);

}  // namespace stonecall::server
