set -e
trap 'rm -rf demo' EXIT
optimiser new demo > /dev/null
cp -r trials demo/
optimiser trial fit softness -w demo
