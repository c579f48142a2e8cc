#include "server/access.hpp"

#include <boost/algorithm/string/predicate.hpp>
#include <boost/algorithm/string/trim.hpp>
#include <openssl/crypto.h>
#include <openssl/sha.h>

namespace stonecall::server {

using protocol::Fault;

std::string_view to_string(Role role) {
  switch (role) {
    case Role::anyone:
      return "anyone";
    case Role::field:
      return "field";
    case Role::adviser:
      return "adviser";
    case Role::observer:
      return "observer";
  }
  return "observer";
}

bool may_post(Role role, std::string_view kind) {
  if (kind == protocol::Damaged::kind) return false;  // only a store says so
  switch (role) {
    case Role::anyone:
    case Role::adviser:  // the field's answers too: most are heard on the voice loop and noted
      return true;
    case Role::field:
      return kind != "plan" && kind != "reading" && kind != "call";
    case Role::observer:
      return false;
  }
  return false;
}

Access::Digest Access::digest_of(std::string_view token) {
  Digest digest;
  SHA256(reinterpret_cast<const unsigned char*>(token.data()), token.size(), digest.data());
  return digest;
}

protocol::Result<Access> Access::parse(std::string_view text) {
  constexpr std::size_t shortest = 16;
  Access access;
  std::size_t number = 0;
  constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  while (!text.empty()) {
    ++number;
    const std::size_t end = text.find('\n');
    std::string line(text.substr(0, end));
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    boost::trim(line);
    if (line.empty() || line.front() == '#') continue;
    const std::size_t gap = line.find_first_of(" \t");
    const std::string word = line.substr(0, gap);
    std::string token = gap == std::string::npos ? "" : line.substr(gap);
    boost::trim(token);
    std::optional<Role> role;
    for (const Role known : {Role::field, Role::adviser, Role::observer}) {
      if (word == to_string(known)) role = known;
    }
    if (!role)
      return tl::unexpected(Fault{"", "expected field, adviser or observer, then a token", number});
    if (token.size() < shortest) {
      return tl::unexpected(
          Fault{"", "a token has at least " + std::to_string(shortest) + " bytes", number});
    }
    if (token.find_first_of(" \t") != std::string::npos)
      return tl::unexpected(Fault{
          "", "a token has no spaces in it, and nothing stands behind it on its line", number});
    const Digest digest = digest_of(token);
    for (const Token& known : access.tokens_) {
      if (known.digest == digest && known.role != *role)
        return tl::unexpected(Fault{"",
                                    "this token is that of " + std::string(to_string(known.role)) +
                                        " already; give each role its own",
                                    number});
    }
    access.tokens_.push_back({digest, *role});
  }
  if (access.open()) return tl::unexpected(Fault{"", "no token in it", {}});
  return access;
}

std::optional<Role> Access::role_of(std::string_view authorization) const {
  if (open()) return Role::anyone;
  constexpr std::string_view scheme = "bearer ";
  if (!boost::istarts_with(authorization, scheme)) return std::nullopt;
  const Digest given =
      digest_of(boost::trim_copy(std::string(authorization.substr(scheme.size()))));
  std::optional<Role> role;
  // All are compared, so that the time taken tells nothing about which one came close.
  for (const Token& token : tokens_) {
    if (CRYPTO_memcmp(token.digest.data(), given.data(), given.size()) == 0) role = token.role;
  }
  return role;
}

}  // namespace stonecall::server
