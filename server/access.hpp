#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/event.hpp"
#include "protocol/fault.hpp"

namespace stonecall::server {

/// What a connection may do. `anyone` is everybody on a server without tokens.
enum class Role { anyone, field, adviser, observer };

std::string_view to_string(Role role);

/// May this role post events of this kind? The field may not post plans, readings and calls; an
/// adviser may not answer a call for the field; an observer posts nothing.
bool may_post(Role role, std::string_view kind);

/// Bearer tokens (RFC 6750) and the roles they stand for. Only digests are kept, compared in
/// constant time.
class Access {
 public:
  Access() = default;  ///< no tokens: all may do all

  /// Reads lines of `role token`; blank lines and those that begin with '#' are passed over. Tokens
  /// are at least 16 bytes long.
  static protocol::Result<Access> parse(std::string_view text);

  bool open() const { return tokens_.empty(); }

  /// The role of an Authorization header ("Bearer …"); empty: no such token.
  std::optional<Role> role_of(std::string_view authorization) const;

 private:
  using Digest = std::array<unsigned char, 32>;
  struct Token {
    Digest digest{};
    Role role = Role::observer;
  };
  static Digest digest_of(std::string_view token);
  std::vector<Token> tokens_;
};

}  // namespace stonecall::server
