#pragma once

#include <memory>
#include <utility>
#include <vector>

#include <boost/asio/associated_executor.hpp>
#include <boost/asio/async_result.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/dispatch.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "protocol/byte_stream.hpp"
#include "server/store.hpp"

/// What blocks or answers from another thread, as something a connection's coroutine can wait for.
namespace stonecall::server {

using protocol::no_throw;

/// Runs `work` on a thread of the pool and comes back to the caller's strand with what it answers.
template <class Result>
boost::asio::awaitable<Result> on_pool(boost::asio::thread_pool& pool,
                                       std::function<Result()> work) {
  return boost::asio::async_initiate<const boost::asio::use_awaitable_t<>, void(Result)>(
      [&pool](auto handler, std::function<Result()> task) {
        boost::asio::post(pool, [handler = std::move(handler), task = std::move(task)]() mutable {
          Result result = task();
          const auto strand = boost::asio::get_associated_executor(handler);
          boost::asio::post(strand,
                            [handler = std::move(handler), result = std::move(result)]() mutable {
                              std::move(handler)(std::move(result));
                            });
        });
      },
      boost::asio::use_awaitable, std::move(work));
}

/// Posts to the store; comes back once the events are on disk, or cannot be.
inline boost::asio::awaitable<PostOutcome> stored(Store& store, std::vector<Draft> events) {
  return boost::asio::async_initiate<const boost::asio::use_awaitable_t<>, void(PostOutcome)>(
      [&store](auto handler, std::vector<Draft> drafts) {
        // std::function wants what it holds to be copyable; a coroutine's handler is not.
        auto shared = std::make_shared<decltype(handler)>(std::move(handler));
        store.post(std::move(drafts), [shared](PostOutcome outcome) {
          const auto strand = boost::asio::get_associated_executor(*shared);
          // Where the store answers on this strand's own thread the caller goes on at once.
          boost::asio::dispatch(strand, [shared, outcome = std::move(outcome)]() mutable {
            std::move (*shared)(std::move(outcome));
          });
        });
      },
      boost::asio::use_awaitable, std::move(events));
}

}  // namespace stonecall::server
