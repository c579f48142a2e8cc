#pragma once

#include <memory>

#include <boost/asio/awaitable.hpp>

#include "protocol/byte_stream.hpp"
#include "server/context.hpp"

namespace stonecall::server {

/// Serves one connection until it ends: HTTP requests one after the other, or, after an upgrade,
/// the live stream. Runs on the connection's strand.
boost::asio::awaitable<void> serve(Context& context, protocol::ByteStream stream,
                                   std::shared_ptr<Connection> connection);

}  // namespace stonecall::server
