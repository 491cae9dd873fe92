set -e
trap 'rm -rf bench' EXIT
cp -r worktable bench
optimiser propose kaolin-mask -w bench --brief bath-rooms --save --as first > /dev/null 2>&1
optimiser trial new bench/proposals/first.yaml --on 2026-11-16 --as mask-1 > /dev/null
optimiser trial record mask-1 -w bench --on 2026-11-16 --as-planned --weighed "citric-acid-20=0.4 g" \
    --read ph-before=6.6 --read ph=5.8 > /dev/null
optimiser trial learn -w bench
