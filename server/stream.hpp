#pragma once

#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>

namespace stonecall::server {

/// What a connection is spoken over.
using PlainStream = boost::beast::tcp_stream;
using SecureStream = boost::beast::ssl_stream<boost::beast::tcp_stream>;  ///< TLS

}  // namespace stonecall::server
